"""Earnings through the API: what an address may ask, and versions."""

import pytest

from tests.api.routes import address
from tests.factories.everything import one_of_everything

API = "/api/v1/"


@pytest.fixture
def one(studio):
    return one_of_everything(studio)


@pytest.mark.parametrize("path", ["profit/total/", "profit/cuts/", "valuation/", "break-even/"])
def test_what_nothing_is_asked_by_is_refused_by_its_name(maker, path):
    answer = maker.api.get(f"{API}{path}?mood=good")

    assert (answer.status_code, set(answer.data["fields"])) == (400, {"mood"})


@pytest.mark.parametrize("path", ["producible/", "price-list/"])
def test_what_is_not_described_is_refused_by_its_name(maker, path):
    answer = maker.api.post(f"{API}{path}", {"mood": "good"})

    assert answer.status_code == 400
    assert "mood" in answer.data["fields"]


def test_a_table_comes_as_csv_or_xlsx_and_as_nothing_else(maker):
    body = maker.api.get(f"{API}valuation/file/").content
    odd = maker.api.get(f"{API}valuation/file/?as=exe")

    assert body.decode("utf-8-sig").startswith("As of,What,")
    assert (odd.status_code, set(odd.data["fields"])) == (400, {"as"})


def test_break_even_is_asked_for_a_channel_of_the_studio(maker, other_owner, one):
    channel = {"channel": one.channel.pk}

    assert maker.api.get(f"{API}break-even/", channel).status_code == 200
    for person, asked in ((other_owner, channel), (maker, {"channel": "own"})):
        odd = person.api.get(f"{API}break-even/", asked)
        assert (odd.status_code, set(odd.data["fields"])) == (400, {"channel"})


def test_an_appraisal_that_was_changed_meanwhile_is_not_withdrawn(owner, one):
    where = address("api-appraisals-withdraw", one)
    read = owner.api.get(address("api-appraisals-detail", one))

    stale = owner.api.post(where, headers={"If-Match": '"old"'})
    done = owner.api.post(where, headers={"If-Match": read["ETag"]})
    again = owner.api.post(where, headers={"If-Match": read["ETag"]})

    assert (stale.status_code, stale.data["code"]) == (412, "changed_meanwhile")
    assert (done.status_code, done.data["withdrawn_at"] is None) == (200, False)
    assert again.status_code == 412
