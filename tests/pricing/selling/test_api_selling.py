"""Selling through the API: what an address may ask and a body may name, and versions."""

import pytest

from tests.api.routes import address
from tests.factories.everything import one_of_everything
from tests.factories.going_on import WITH
from tests.factories.pricing import PieceSetFactory

API = "/api/v1/"


@pytest.fixture
def one(studio):
    return one_of_everything(studio)


def test_what_is_not_described_is_refused_by_its_name(maker, one):
    item = {"set": one.set.number, "price": "1", "count": 2}

    body = maker.api.post(f"{API}sales/", {"channel": one.channel.pk, "items": [item], **WITH})
    query = maker.api.get(f"{API}sets/?sold=true")

    assert (body.status_code, set(body.data["fields"])) == (400, {"items.0.count"})
    assert (query.status_code, set(query.data["fields"])) == (400, {"sold"})


def test_sets_are_found_by_words_and_sorted(maker, studio):
    for name in ("Tide", "Ash", "Tide pool"):
        PieceSetFactory(studio=studio, name=name)

    found = maker.api.get(f"{API}sets/", {"search": "tide", "sort": "name"}).data["results"]
    odd = maker.api.get(f"{API}sets/", {"sort": "spent"})

    assert [row["name"] for row in found] == ["Tide", "Tide pool"]
    assert (odd.status_code, set(odd.data["fields"])) == (400, {"sort"})


def test_sales_are_narrowed_by_channel_customer_and_commission(maker, one):
    narrowed = {
        "channel": one.sale.channel_id,
        "customer": one.sale.customer_id,
        "commission": one.sale.commission and one.sale.commission.number,
    }

    for name, key in narrowed.items():
        if key:
            assert maker.api.get(f"{API}sales/", {name: key}).data["count"] == 1
        assert maker.api.get(f"{API}sales/", {name: 999_999}).data["count"] == 0
        odd = maker.api.get(f"{API}sales/", {name: "1.5"})
        assert (odd.status_code, set(odd.data["fields"])) == (400, {name})


@pytest.mark.parametrize(
    ("name", "body"),
    [
        ("api-sales-refund", {"why": "cracked"}),
        ("api-sets-unpack", {"why": "one chipped"}),
        ("api-consignments-settle", {"items": []}),
    ],
)
def test_an_act_on_what_was_changed_meanwhile_is_refused(maker, one, name, body):
    where = address(name, one)
    read = maker.api.get(where.rsplit("/", 2)[0] + "/")

    stale = maker.api.post(where, body, headers={"If-Match": '"old"'})
    fresh = maker.api.post(where, body, headers={"If-Match": read["ETag"]})

    assert (stale.status_code, stale.data["code"]) == (412, "changed_meanwhile")
    assert fresh.status_code != 412


def test_a_set_taken_apart_is_still_read_but_not_listed(maker, one, studio):
    loose = PieceSetFactory(studio=studio)
    maker.api.post(f"{API}sets/{loose.number}/unpack/", {"why": "one chipped"})

    read = maker.api.get(f"{API}sets/{loose.number}/")
    listed = maker.api.get(f"{API}sets/").data["results"]

    assert read.data["unpacked_at"] is not None
    assert loose.number not in [row["number"] for row in listed]
