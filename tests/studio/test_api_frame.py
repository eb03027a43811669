"""What every endpoint shares: writes safe to repeat, one shape of refusal, pages with a ceiling."""

import re

import pytest
from django.core.exceptions import ValidationError
from django.db import connection
from django.test.utils import CaptureQueriesContext
from rest_framework.response import Response
from rest_framework.test import APIRequestFactory

from studio.api.errors import exception_handler
from studio.api.views import StudioView
from studio.errors import StudioError
from studio.models import IdempotencyRecord, Membership
from tests.conftest import member
from tests.factories.inventory import MaterialFactory

STUDIO = "/api/v1/studio/"


def key(text):
    return {"headers": {"Idempotency-Key": text}}


class Counting(StudioView):
    """An endpoint whose act can be counted: each adds to the studio's phone."""

    def post(self, request):
        studio = request.studio
        studio.phone += "1"
        studio.save(update_fields=["phone"])
        if request.data.get("refuse"):
            raise StudioError("Not today.")
        return Response({"phone": studio.phone}, status=201)


@pytest.fixture
def count(maker):
    """Return a function that posts to the counting endpoint with the maker's token."""
    authorization = maker.api._credentials["HTTP_AUTHORIZATION"]

    def post(body, sent_key="", query=""):
        headers = {"Authorization": authorization} | (
            {"Idempotency-Key": sent_key} if sent_key else {}
        )
        request = APIRequestFactory().post(f"/count/{query}", body, format="json", headers=headers)
        return Counting.as_view()(request)

    return post


def acts(maker):
    maker.studio.refresh_from_db()
    return len(maker.studio.phone)


def test_one_key_twice_acts_once_and_answers_alike(maker, count):
    first, second = count({"a": 1}, "k1"), count({"a": 1}, "k1")

    assert (
        (first.status_code, first.data)
        == (second.status_code, second.data)
        == (201, {"phone": "1"})
    )
    assert acts(maker) == 1


def test_without_a_key_and_with_another_key_it_acts_again(maker, count):
    for sent_key in ("", "", "k1", "k2"):
        count({"a": 1}, sent_key)

    assert acts(maker) == 4


@pytest.mark.parametrize(("body", "query"), [({"a": 2}, ""), ({"a": 1}, "?x=1")])
def test_one_key_for_two_requests_is_refused(maker, count, body, query):
    count({"a": 1}, "k1")

    answer = count(body, "k1", query)

    assert (answer.status_code, answer.data["code"]) == (409, "idempotency_key_reused")
    assert acts(maker) == 1


def test_a_refusal_leaves_nothing_and_the_key_free(maker, count):
    refused = count({"refuse": True}, "k1")

    assert (refused.status_code, refused.content_type) == (409, "application/problem+json")
    assert (refused.data["code"], refused.data["detail"]) == ("refused", "Not today.")
    assert acts(maker) == 0
    assert not IdempotencyRecord.objects.exists()


def test_a_key_that_is_too_long_is_refused(maker, count):
    assert "at most 80" in count({}, "k" * 81).data["detail"]
    assert acts(maker) == 0


def test_a_key_belongs_to_one_studio_and_one_person(owner, other_owner):
    second = member(owner.studio, "owner")
    owner.api.patch(STUDIO, {"phone": "1"}, **key("k1"))

    elsewhere = other_owner.api.patch(STUDIO, {"phone": "1"}, **key("k1"))
    somebody_else = second.api.patch(STUDIO, {"phone": "1"}, **key("k1"))

    assert (elsewhere.status_code, elsewhere.data["name"]) == (200, other_owner.studio.name)
    assert somebody_else.data["code"] == "idempotency_key_reused"


def test_a_write_without_content_is_repeated_too(owner, maker):
    path = f"/api/v1/people/{maker.membership.pk}/"

    answers = [owner.api.delete(path, **key("gone")).status_code for _ in range(2)]

    assert answers == [204, 204]
    assert Membership.objects.filter(studio=owner.studio).count() == 1


def test_what_is_sent_wrong_is_said_field_by_field_and_nothing_is_kept(owner):
    answer = owner.api.patch(STUDIO, {"name": "New", "margin": "2", "currency": "XYZ"})

    assert answer.status_code == 400
    assert set(answer.data["fields"]) == {"margin", "currency"}
    owner.studio.refresh_from_db()
    assert owner.studio.name != "New"


def test_a_body_that_is_no_json_is_said(owner):
    answer = owner.api.generic("PATCH", STUDIO, "{", content_type="application/json")

    assert (answer.status_code, answer.data["code"]) == (400, "parse_error")


@pytest.mark.parametrize(
    ("method", "path", "status", "code"),
    [
        ("get", "/api/v1/people/999999/", 404, "not_found"),
        ("post", "/api/v1/people/999999/", 405, "method_not_allowed"),
        ("patch", "/api/v1/people/999999/", 404, "not_found"),
        ("put", STUDIO, 405, "method_not_allowed"),
    ],
)
def test_every_refusal_has_a_code_and_a_sentence(owner, method, path, status, code):
    answer = getattr(owner.api, method)(path, {"role": "viewer"} if method != "get" else None)

    assert (answer.status_code, answer.data["code"]) == (status, code)
    assert set(answer.data) == {"type", "title", "status", "code", "detail"}


def test_an_address_says_by_which_methods_it_may_be_asked(viewer):
    answer = viewer.api.options("/api/v1/customers/")

    assert (answer.status_code, answer["Allow"]) == (204, "GET, POST, HEAD, OPTIONS")
    assert viewer.api.options(STUDIO)["Allow"] == "GET, PATCH, HEAD, OPTIONS"


def test_a_role_too_low_is_refused_with_a_code(viewer):
    answer = viewer.api.patch(STUDIO, {"name": "Mine"})

    assert (answer.status_code, answer.data["code"]) == (403, "permission_denied")


def test_a_models_refusal_reads_as_fields_at_fault():
    answer = exception_handler(ValidationError({"name": ["Too long."]}), {})

    assert (answer.status_code, answer.data["fields"]) == (400, {"name": ["Too long."]})


def test_a_programming_mistake_is_not_dressed_up():
    assert exception_handler(KeyError("x"), {}) is None


def test_the_studio_is_read_and_changed_in_part(owner):
    changed = owner.api.patch(STUDIO, {"margin": "0.4", "measures": "au"})

    assert (changed.data["margin"], changed.data["measures"]) == ("0.4000", "au")
    assert owner.api.get(STUDIO).data == changed.data


def test_the_last_owner_is_kept_by_the_api_too(owner):
    answer = owner.api.patch(f"/api/v1/people/{owner.membership.pk}/", {"role": "viewer"})

    assert (answer.status_code, answer.data["code"]) == (409, "last_owner")


def test_a_page_holds_no_more_than_the_ceiling(owner, monkeypatch):
    monkeypatch.setattr("studio.api.pages.Pages.max_page_size", 2)
    for _ in range(2):
        member(owner.studio, "viewer")

    answer = owner.api.get("/api/v1/people/", {"page_size": 100000}).data

    assert (answer["count"], len(answer["results"])) == (3, 2)
    assert answer["next"].endswith("page=2&page_size=100000")


@pytest.mark.parametrize("members", (0, 2))
def test_the_people_endpoint_asks_the_same_for_one_and_three(
    owner, django_assert_num_queries, members
):
    for _ in range(members):
        member(owner.studio, "viewer")

    # token, person, membership with studio, count, members with people
    with django_assert_num_queries(5):
        answer = owner.api.get("/api/v1/people/")

    assert len(answer.data["results"]) == 1 + members


def test_the_description_asks_the_database_nothing(client, db):
    with CaptureQueriesContext(connection) as queries:
        assert client.get("/api/v1/schema/").status_code == 200

    assert len(queries) == 0


def test_the_description_has_a_page_with_its_own_policy(client, db):
    page = client.get("/api/v1/docs/")

    assert "style-src 'self' 'unsafe-inline'" in page["Content-Security-Policy"]
    assert "script" not in page["Content-Security-Policy"]
    assert b"http" not in page.content.split(b"<body>")[1].replace(b"http://www.w3.org", b"")


def test_what_is_neither_yes_nor_no_is_refused_by_name(owner):
    answer = owner.api.get("/api/v1/materials/", {"archived": "maybe"})

    assert (answer.status_code, answer.data["fields"]) == (
        400,
        {"archived": ["Say true or false."]},
    )
    assert owner.api.get("/api/v1/materials/", {"archived": "True"}).status_code == 200


def test_the_links_of_a_list_lead_to_every_row_once_in_the_order_asked(owner):
    made = [MaterialFactory(studio=owner.studio, kind=kind) for kind in ("water", "paint") * 3]
    address, seen = "/api/v1/materials/?sort=-kind&page_size=4", []

    while address:
        answer = owner.api.get(address)
        seen += [(row["kind"], row["id"]) for row in answer.data["results"]]
        found = re.search(r'<([^>]+)>; rel="next"', answer.headers.get("Link", ""))
        address = found and found[1].removeprefix("http://testserver")

    # Water before paint, since the order is turned round; of one kind by the key.
    waters, paints = ([one.pk for one in made if one.kind == kind] for kind in ("water", "paint"))
    assert seen == [*(("water", pk) for pk in waters), *(("paint", pk) for pk in paints)]


def test_an_answer_said_again_has_the_version_it_had(owner):
    body = {"name": "White", "kind": "paint", "unit": "ml"}
    first, again = (owner.api.post("/api/v1/materials/", body, **key("k1")) for _ in range(2))
    address = f"/api/v1/materials/{first.data['id']}/"

    read = owner.api.get(address)
    changed = owner.api.patch(address, {"notes": "x"}, headers={"If-Match": again["ETag"]})

    assert first["ETag"] == again["ETag"] == read["ETag"]
    assert (changed.status_code, changed["ETag"] == read["ETag"]) == (200, False)
