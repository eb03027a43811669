"""Commissions and quotes through the API: taken down, priced, sent, answered."""

from decimal import Decimal as D
from io import BytesIO

import pytest
from pypdf import PdfReader
from rest_framework.test import APIClient

from inventory.models import Hold
from pricing.models import Commission, Customer, Quote, SavedSurface
from tests.conftest import member
from tests.factories.bench import working_studio

API = "/api/v1/"


@pytest.fixture
def bench(db):
    return working_studio()


@pytest.fixture
def maker(bench):
    return member(bench.studio, "maker", sees_costs=True)


@pytest.fixture
def owner(bench):
    return member(bench.studio, "owner")


def post(person, path, body=None, key=""):
    headers = {"Idempotency-Key": key} if key else {}
    return person.api.post(f"{API}{path}", body or {}, headers=headers)


@pytest.fixture
def commission(maker, bench):
    """Two sets of four tiles under resin, boxed."""
    made = post(maker, "commissions/", {"title": "Coasters", "customer": bench.customer.pk}).data[
        "number"
    ]
    line = {
        "surface": bench.tile_size.pk,
        "technique": "bloom",
        "palette": bench.palette.pk,
        "topcoat": bench.kit.pk,
        "packaging": bench.box.pk,
        "quantity": 2,
        "pieces_each": 4,
        "use": "look",
    }
    post(maker, f"commissions/{made}/lines/", line)
    return maker.api.get(f"{API}commissions/{made}/").data


@pytest.fixture
def address(commission):
    return f"commissions/{commission['number']}/"


def test_an_enquiry_is_taken_down_with_a_new_customer(maker, bench):
    answer = post(
        maker,
        "commissions/",
        {"title": "A canvas", "new_customer": "Ines Quill", "due_on": "2030-05-01"},
    )

    assert (answer.status_code, answer.data["status"]) == (201, "enquiry")
    assert answer.data["customer"]["name"] == "Ines Quill"
    assert [row["by"] for row in answer.data["events"]] == [maker.user.username]
    assert Customer.objects.get(name="Ines Quill").studio == bench.studio


@pytest.mark.parametrize(
    ("body", "field"),
    [
        ({"new_customer": "Ines"}, "title"),
        ({"title": "x"}, "customer"),
        ({"title": "x", "customer": "{customer}", "new_customer": "Ines"}, "customer"),
        ({"title": "x", "new_customer": "Ines", "due_on": "spring"}, "due_on"),
        ({"title": "x", "new_customer": "Ines", "new_email": "ines"}, "new_email"),
    ],
)
def test_an_enquiry_that_cannot_be_leaves_no_customer_behind(maker, bench, body, field):
    if "customer" in body:
        body["customer"] = bench.customer.pk

    answer = post(maker, "commissions/", body)

    assert (answer.status_code, list(answer.data["fields"])) == (400, [field])
    assert not Customer.objects.filter(name="Ines").exists()
    assert not Commission.objects.exists()


def test_a_commission_is_changed_in_part(maker, commission, address):
    changed = maker.api.patch(f"{API}{address}", {"title": "Eight coasters"}).data

    assert changed == {**commission, "title": "Eight coasters"}
    assert maker.api.get(f"{API}commissions/?status=enquiry").data["count"] == 1
    assert maker.api.get(f"{API}commissions/?status=paid").data["count"] == 0


def test_a_line_by_size_keeps_the_surface_and_makes_it_once(maker, bench, address):
    body = {"size": "20 x 30 cm", "technique": "swipe", "palette": bench.palette.pk, "use": "look"}

    answers = [post(maker, f"{address}lines/", body) for _ in range(2)]

    lines = maker.api.get(f"{API}{address}").data["lines"]
    assert [answer.status_code for answer in answers] == [201, 201]
    assert [answer.data for answer in answers] == lines[1:]
    assert lines[1]["surface"] == lines[2]["surface"]
    assert (lines[0]["description"][:8], lines[0]["technique"]) == ("Set of 4", "bloom")
    assert SavedSurface.objects.count() == 3


def test_a_line_is_changed_and_taken_out(maker, commission, address):
    line = f"{API}{address}lines/{commission['lines'][0]['id']}/"

    changed = maker.api.patch(line, {"quantity": 3, "topcoat": None})
    gone = maker.api.delete(line)

    assert (changed.data["quantity"], changed.data["topcoat"]) == (3, None)
    assert gone.status_code == 204
    assert maker.api.get(f"{API}{address}").data["lines"] == []


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"quantity": 0}, "quantity"),
        ({"quantity": 501}, "quantity"),
        ({"pieces_each": 25}, "pieces_each"),
        ({"technique": "splatter"}, "technique"),
        ({"size": "10 x 10 cm"}, "surface"),
        ({"surface": None}, "surface"),
        ({"palette": "Tide"}, "palette"),
    ],
)
def test_a_line_that_cannot_be_is_refused_at_its_field(maker, bench, address, change, field):
    body = {"surface": bench.tile_size.pk, "technique": "bloom", "palette": bench.palette.pk}

    answer = post(maker, f"{address}lines/", {**body, **change})

    assert (answer.status_code, set(answer.data["fields"])) == (400, {field})


def test_what_it_takes_and_what_is_short(maker, commission, address):
    before = maker.api.get(f"{API}{address}stock-check/").data
    maker.api.patch(f"{API}{address}lines/{commission['lines'][0]['id']}/", {"quantity": 6})

    estimate = maker.api.get(f"{API}{address}estimate/").data
    check = maker.api.get(f"{API}{address}stock-check/").data

    # Six sets of four are 24 tiles, and 20 are on hand.
    needs = {row["material"]["name"]: row for row in estimate["needs"]}
    assert (needs["tile"]["to_mix"], needs["box"]["to_mix"]) == ("24.0000", "6.0000")
    assert estimate["lines"][0]["estimate"]["count"] == 24
    assert before["short"] == []
    short = {row["material"]["name"]: row["missing"] for row in check["short"]}
    assert short["tile"] == "4.0000"
    assert check["lines"][0]["material"]["name"] in short


def test_a_commission_without_pieces_has_no_estimate(maker, bench):
    number = post(maker, "commissions/", {"title": "x", "customer": bench.customer.pk}).data[
        "number"
    ]

    answer = maker.api.get(f"{API}commissions/{number}/estimate/")

    assert (answer.status_code, answer.data["code"]) == (409, "nothing_ordered")


def test_a_step_by_hand_is_taken_only_where_it_leads_on(maker, address):
    refused = post(maker, f"{address}step/", {"status": "paid"})
    taken = post(maker, f"{address}step/", {"status": "cancelled", "note": "moved away"})
    nonsense = post(maker, f"{address}step/", {"status": "lost"})

    assert (refused.status_code, refused.data["code"]) == (409, "commission_closed")
    assert taken.data["events"][-1]["note"] == "moved away"
    assert (nonsense.status_code, set(nonsense.data["fields"])) == (400, {"status"})


def test_a_line_is_changed_as_it_was_read_and_not_otherwise(maker, bench, commission, address):
    where = f"{API}{address}lines/{commission['lines'][0]['id']}/"
    read = maker.api.get(where)
    bare = APIClient(headers={"Authorization": maker.api._credentials["HTTP_AUTHORIZATION"]})

    unsaid = bare.patch(where, {"quantity": 5})
    changed = maker.api.patch(where, {"quantity": 5}, headers={"If-Match": read["ETag"]})
    stale = maker.api.delete(where, headers={"If-Match": read["ETag"]})

    assert read.data == commission["lines"][0]
    assert (unsaid.status_code, unsaid.data["code"]) == (428, "match_required")
    assert (changed.status_code, changed.data["quantity"]) == (200, 5)
    assert (stale.status_code, stale.data["code"]) == (412, "changed_meanwhile")
    assert maker.api.get(where).data == changed.data


def test_a_line_is_found_at_its_own_commission_only(maker, bench, commission):
    other = post(maker, "commissions/", {"title": "x", "customer": bench.customer.pk}).data
    line = commission["lines"][0]["id"]

    assert maker.api.get(f"{API}commissions/{other['number']}/lines/{line}/").status_code == 404
    assert maker.api.get(f"{API}commissions/999/lines/{line}/").status_code == 404


def test_what_nothing_is_asked_or_taken_by_is_refused_by_name(maker, address):
    asked = maker.api.get(f"{API}commissions/?colour=red")
    sent = maker.api.patch(f"{API}{address}", {"status": "paid"})

    assert (asked.status_code, list(asked.data["fields"])) == (400, ["colour"])
    assert (sent.status_code, list(sent.data["fields"])) == (400, ["status"])


def test_the_list_is_narrowed_searched_and_sorted(maker, bench, commission):
    later = post(maker, "commissions/", {"title": "A wave", "new_customer": "Ines Quill"}).data

    def numbers(asked):
        rows = maker.api.get(f"{API}commissions/?{asked}").data["results"]
        return [row["number"] for row in rows]

    assert numbers("search=ines") == numbers("search=wave") == [later["number"]]
    assert numbers(f"customer={bench.customer.pk}") == [commission["number"]]
    assert numbers("sort=number") == [commission["number"], later["number"]]


@pytest.fixture
def quote(owner, commission):
    terms = {"commission": commission["number"], "shipping": "9", "margin": "0.3"}
    return post(owner, "quotes/", terms).data


def test_a_price_adds_up_and_is_the_owners_to_make(owner, maker, quote):
    refused = post(maker, "quotes/", {"commission": quote["commission"]})

    assert refused.status_code == 403
    assert (quote["status"], quote["number"]) == ("draft", None)
    assert D(quote["gross"]) == D(quote["net"]) + D(quote["tax"])
    assert sum(D(line["amount"]) for line in quote["lines"]) == D(quote["net"])
    assert D(quote["tax"]) == (D(quote["net"]) * D("0.10")).quantize(D("0.01"))
    assert [line["amount"] for line in quote["lines"] if line["description"] == "Shipping"] == [
        "9.000"
    ]
    assert maker.api.get(f"{API}quotes/{quote['id']}/").data == quote
    assert maker.api.get(f"{API}quotes/?commission={quote['commission']}").data["count"] == 1


@pytest.mark.parametrize(
    ("body", "field"),
    [
        ({"margin": "1"}, "margin"),
        ({"margin": "NaN"}, "margin"),
        ({"markup": "11"}, "markup"),
        ({"markup": "0.5", "margin": "0.3"}, "markup"),
        ({"discount": "-0.1"}, "discount"),
        ({"deposit": "1.1"}, "deposit"),
        ({"shipping": "-5"}, "shipping"),
        ({"channel": 999_999}, "channel"),
    ],
)
def test_terms_that_cannot_be_are_refused_at_their_field(owner, commission, body, field):
    answer = post(owner, "quotes/", {"commission": commission["number"], **body})

    assert (answer.status_code, set(answer.data["fields"])) == (400, {field})
    assert not Quote.objects.exists()


def test_a_margin_that_leaves_nothing_is_refused_in_words(owner, commission):
    channel = owner.api.post(f"{API}channels/", {"name": "Dear", "percent_fee": "0.5"}).data["id"]

    terms = {"commission": commission["number"], "margin": "0.6", "channel": channel}

    answer = post(owner, "quotes/", terms)

    assert answer.status_code == 409
    assert answer.data["detail"].endswith(".")


def test_a_quote_is_sent_accepted_and_holds_stock(owner, maker, address, quote):
    early = post(maker, f"quotes/{quote['id']}/accept/")
    sent = post(owner, f"quotes/{quote['id']}/send/", {"valid_days": 10})
    again = post(owner, f"quotes/{quote['id']}/send/")
    accepted = post(maker, f"quotes/{quote['id']}/accept/", {"name": "Wren Alder", "note": "yes"})

    assert (early.status_code, early.data["code"]) == (409, "quote_not_open")
    assert (sent.data["label"], sent.data["status"]) == ("Quote 1", "sent")
    assert (again.status_code, again.data["code"]) == (409, "quote_not_open")
    assert (accepted.data["status"], accepted.data["answered_by"]) == ("accepted", "Wren Alder")
    assert accepted.data["gross"] == quote["gross"]
    assert maker.api.get(f"{API}{address}").data["status"] == "accepted"
    held = {row["material"]["name"]: row for row in maker.api.get(f"{API}holds/").data["results"]}
    assert (held["tile"]["outstanding"], held["tile"]["covered"]) == ("8.0000", "8.0000")


def test_a_quote_is_declined_with_a_reason(owner, maker, address, quote):
    post(owner, f"quotes/{quote['id']}/send/")

    declined = post(maker, f"quotes/{quote['id']}/decline/", {"note": "too dear"})

    assert (declined.data["status"], declined.data["answer_note"]) == ("declined", "too dear")
    assert maker.api.get(f"{API}{address}").data["status"] == "declined"
    assert not Hold.objects.exists()


def test_the_papers_read_as_they_should(owner, maker, quote):
    post(owner, f"quotes/{quote['id']}/send/")
    papers = [maker.api.get(f"{API}quotes/{quote['id']}/pdf/") for _ in range(2)]
    sheet = owner.api.get(f"{API}quotes/{quote['id']}/cost-sheet/")
    not_trusted = member(maker.studio, "maker")
    refused = not_trusted.api.get(f"{API}quotes/{quote['id']}/cost-sheet/")

    paper, costs = (_text(answer.content) for answer in (papers[0], sheet))
    assert papers[0].content == papers[1].content
    assert papers[0]["Content-Disposition"] == 'inline; filename="quote-1.pdf"'
    assert f"{D(quote['gross']):.2f}" in paper
    assert "Overhead" not in paper
    assert "verhead" in costs
    assert (refused.status_code, refused.json()["code"]) == (403, "permission_denied")


def _text(pdf):
    return "\n".join(page.extract_text() for page in PdfReader(BytesIO(pdf)).pages)


def test_what_a_price_was_made_from_adds_up_for_the_owner(owner, quote):
    costs = owner.api.get(f"{API}quotes/{quote['id']}/costs/").data

    totals = {name: D(amount) for name, amount in costs["totals"].items()}
    assert costs["terms"]["margin"] == "0.3000"
    assert totals["gross"] == D(quote["gross"])
    assert totals["cost"] == sum(D(line["cost"]) for line in costs["lines"])
    assert "customer" not in costs


def test_one_key_makes_one_of_each(owner, maker, bench, commission):
    acts = [
        (maker, "commissions/", {"title": "x", "customer": bench.customer.pk}),
        (owner, "quotes/", {"commission": commission["number"]}),
    ]
    for place, (person, path, body) in enumerate(acts):
        first, second = (post(person, path, body, key=f"k{place}") for _ in range(2))
        assert (first.status_code, first.json()) == (second.status_code, second.json())
        assert first.status_code == 201
    draft = Quote.objects.get()
    for place, how in enumerate(("send", "accept"), start=9):
        answers = [post(owner, f"quotes/{draft.pk}/{how}/", key=f"k{place}") for _ in range(2)]
        assert [answer.status_code for answer in answers] == [200, 200]
    assert Commission.objects.count() == 2
    assert Hold.objects.filter(material=bench.tile).count() == 1
