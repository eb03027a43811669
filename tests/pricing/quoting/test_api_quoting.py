"""Quotes and invoices through the API: what is asked and named, and versions."""

import pytest
from rest_framework.test import APIClient

from tests.api.routes import address
from tests.factories.everything import one_of_everything

API = "/api/v1/"


@pytest.fixture
def one(studio):
    return one_of_everything(studio)


@pytest.mark.parametrize("path", ["quotes/", "invoices/"])
def test_what_is_not_described_is_refused_by_its_name(owner, one, path):
    body = owner.api.post(f"{API}{path}", {"commission": one.commission.number, "mood": "good"})
    query = owner.api.get(f"{API}{path}?mood=good")

    assert (body.status_code, set(body.data["fields"])) == (400, {"mood"})
    assert (query.status_code, set(query.data["fields"])) == (400, {"mood"})


@pytest.mark.parametrize("path", ["quotes/", "invoices/"])
def test_they_are_of_a_commission_of_the_studio(owner, other_owner, one, path):
    theirs = other_owner.api.post(f"{API}{path}", {"commission": one.commission.number})
    none = owner.api.post(f"{API}{path}", {})

    assert (theirs.status_code, set(theirs.data["fields"])) == (400, {"commission"})
    assert (none.status_code, set(none.data["fields"])) == (400, {"commission"})


@pytest.mark.parametrize("path", ["quotes/", "invoices/"])
def test_they_are_narrowed_to_one_commission(maker, one, path):
    number = one.commission.number

    found = maker.api.get(f"{API}{path}", {"commission": number}).data["results"]

    assert {row["commission"] for row in found} == {number}
    assert maker.api.get(f"{API}{path}", {"commission": number + 1}).data["count"] == 0


def test_quotes_are_narrowed_to_a_status_that_there_is(maker, one):
    status = one.quote.status

    found = maker.api.get(f"{API}quotes/", {"status": status}).data["results"]
    odd = maker.api.get(f"{API}quotes/", {"status": "lost"})

    assert {row["status"] for row in found} == {status}
    assert (odd.status_code, set(odd.data["fields"])) == (400, {"status"})


def test_an_act_on_a_quote_that_was_changed_meanwhile_is_refused(owner, one):
    where = address("api-quotes-send", one)

    stale = owner.api.post(where, headers={"If-Match": '"old"'})

    assert (stale.status_code, stale.data["code"]) == (412, "changed_meanwhile")


def test_a_link_is_stopped_for_the_version_of_its_quote(owner, one):
    where = address("api-quote-link", one)
    plain = APIClient()
    plain.credentials(**owner.api._credentials)

    none = plain.delete(where)
    stale = owner.api.delete(where, headers={"If-Match": '"old"'})
    done = owner.api.delete(
        where, headers={"If-Match": owner.api.get(address("api-quotes-detail", one))["ETag"]}
    )

    assert (none.status_code, none.data["code"]) == (428, "match_required")
    assert (stale.status_code, stale.data["code"]) == (412, "changed_meanwhile")
    assert done.status_code == 204
