"""Every list asks the database as often for one row as for three, and has a ceiling."""

import re

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import resolve
from drf_spectacular.generators import SchemaGenerator

from studio.api.viewsets import PutAway
from tests.api.routes import address, endpoints
from tests.conftest import member
from tests.factories.bench import working_studio
from tests.factories.everything import one_of_everything
from tests.factories.pricing import PieceSetFactory, QuoteFactory

# Each asks for the token, its person, the membership with its studio, how many rows there are, and
# the rows; what else it asks for is named.
LISTS = {
    "api-materials-list": 5,
    "api-suppliers-list": 5,
    "api-packs-list": 5,
    "api-batches-list": 8,  # movements with their materials and bottles
    "api-recipes-list": 7,  # parts, their materials
    "api-bottles-list": 5,
    "api-counts-list": 5,
    "api-entries-list": 6,  # movements with their materials and bottles
    "api-deliveries-list": 6,  # bottles with their materials
    "api-orders-list": 6,  # lines with packs and materials
    "api-costing-changes-list": 5,
    "api-appraisals-list": 5,
    "api-closings-list": 5,
    # holds, orders, materials, packs, history, uses, quotes, expiry, prices
    "api-alerts-list": 12,
    "api-holds-list": 4,  # one in place of two
    "api-promised-list": 6,  # three in place of two
    "api-running-out-list": 10,  # holds, orders, materials, packs, history, uses, quotes
    "api-surfaces-list": 5,
    "api-techniques-list": 6,  # steps
    "api-palettes-list": 7,  # colours, their recipes
    "api-resin-kits-list": 5,
    "api-products-list": 5,
    "api-channels-list": 5,
    "api-days-off-list": 5,
    "api-calendar-links-list": 5,
    "api-customers-list": 5,
    "api-commissions-list": 13,  # lines, the five things each names, events, people
    "api-quotes-list": 6,  # lines
    "api-pours-list": 6,  # layers
    "api-pairs-list": 5,
    "api-weighings-list": 5,
    "api-pictures-list": 5,
    "api-tile-answers-list": 5,
    "api-pieces-list": 6,
    "api-sets-list": 9,  # pieces; what lies on them, in two; what they were for before
    "api-owed-list": 9,  # six in place of two: which, quotes, sums paid, what is sold
    "api-payments-list": 5,
    "api-invoices-list": 5,
    "api-gone-on-list": 5,
    "api-sales-list": 6,  # lines with their sets
    "api-consignments-list": 6,  # lines with their sets
    "api-profit-list": 6,  # and the pieces of the sets, for their names
    "api-profit-cuts": 5,  # what was posted; the pieces of the sets
    "api-break-even": 24,  # what products need and cost to replace, what sold sets left
    "api-habits-list": 10,  # seven in place of two: what is learned from, and the techniques
    "api-record-list": 5,  # two in place of two: the layers with all they name
}
# Lists below one row, tested on their own, and those of people and of lists.
ELSEWHERE = {
    "api-exports",
    "api-bottles-movements",
    "api-recipes-questions",
    "api-counts-lines",
    "api-hindsight-list",
    "api-materials-prices",
    "api-people-list",
    "api-commissions-sale-prices",
}


def described_lists():
    """Return the names of the routes that answer pages, by the API's own description."""
    paths = SchemaGenerator().get_schema(request=None, public=True)["paths"]
    found = set()
    for path, operations in paths.items():
        answer = str(operations.get("get", {}).get("responses", {}).get("200"))
        if "/Paged" in answer or "/Paginated" in answer:
            found.add(resolve(re.sub(r"{\w+}", "1", path)).url_name)
    return found


def test_no_list_is_forgotten():
    assert described_lists() == {*LISTS, *ELSEWHERE}


@pytest.mark.parametrize("rows", (1, 3))
def test_a_list_asks_as_often_for_one_row_as_for_three(owner, studio, rows):
    for _ in range(rows):
        one = one_of_everything(studio)
    asked, shown = {}, {}

    for name in LISTS:
        with CaptureQueriesContext(connection) as queries:
            shown[name] = owner.api.get(address(name, one)).data
        asked[name] = len(queries)

    assert asked == LISTS
    assert [name for name, data in shown.items() if len(data["results"]) < rows] == []
    assert [name for name, data in shown.items() if len(data["results"]) != data["count"]] == []


@pytest.mark.parametrize("rows", (1, 3))
def test_the_life_of_a_bottle_asks_the_same(owner, studio, django_assert_num_queries, rows):
    bottle = one_of_everything(studio).bottle
    for left in range(1, rows):
        owner.api.post(f"/api/v1/bottles/{bottle.code}/count/", {"quantity": left})

    with django_assert_num_queries(6):  # token, person, membership, the bottle, count, movements
        answer = owner.api.get(f"/api/v1/bottles/{bottle.code}/movements/")

    assert len(answer.data["results"]) == rows


@pytest.mark.parametrize("rows", (1, 3))
@pytest.mark.django_db
def test_what_was_agreed_for_sets_asks_the_same(django_assert_num_queries, rows):
    bench = working_studio()
    one = one_of_everything(bench.studio)
    one.set.written_off_at = one.commission.created_at
    one.set.save()
    one.quote.delete()
    one.set.sale_lines.update(is_live=False)
    QuoteFactory(
        studio=bench.studio,
        commission=one.commission,
        status="accepted",
        number=1,
        gross=rows * 20,
        frozen={
            "lines": [{"line_id": one.line.pk, "unit_price": "20", "quantity": rows}],
            "totals": {"shipping_gross": "0"},
        },
    )
    PieceSetFactory.create_batch(rows, studio=bench.studio, line=one.line)
    maker = member(bench.studio, "maker", sees_costs=True)

    # token, person, membership; the commission, its quote, sets, those sold
    with django_assert_num_queries(8):
        answer = maker.api.get(address("api-commissions-sale-prices", one))

    assert [row["price"] for row in answer.data["results"]] == ["20.000"] * rows


def test_a_list_has_a_ceiling(owner, studio, monkeypatch):
    monkeypatch.setattr("studio.api.pages.Pages.max_page_size", 2)
    for _ in range(3):
        one = one_of_everything(studio)

    shown = {name: owner.api.get(address(name, one), {"page_size": 100_000}).data for name in LISTS}

    assert {len(data["results"]) for data in shown.values()} == {2}
    assert [name for name, data in shown.items() if "page=2" not in data["next"]] == []


def put_away_lists():
    """Return the names of the lists whose rows can be archived."""
    routed = {name: getattr(pattern.callback, "actions", {}) for name, pattern, _ in endpoints()}
    deletes = {name for name, actions in routed.items() if actions.get("delete") == "destroy"}
    views = {name: pattern.callback.cls for name, pattern, _ in endpoints()}
    return [
        name.replace("-detail", "-list") for name in deletes if issubclass(views[name], PutAway)
    ]


def test_a_list_shows_what_was_put_away_when_asked(owner, studio):
    one, names = one_of_everything(studio), put_away_lists()
    before = {name: owner.api.get(address(name, one)).data["count"] for name in names}
    for name in names:
        owner.api.delete(address(name.replace("-list", "-detail"), one))

    usual, whole = (
        {name: owner.api.get(address(name, one), asked).data["count"] for name in names}
        for asked in ({}, {"archived": "true"})
    )

    assert len(names) >= 3
    assert whole == before
    assert usual == {name: count - 1 for name, count in before.items()}


@pytest.mark.django_db
def test_a_nul_in_an_address_is_refused_before_any_database_sees_it(owner):
    path, query = (owner.api.get(f"/api/v1/bottles/{rest}") for rest in ("%00/", "?search=%00"))

    assert (path.status_code, path.data["code"]) == (404, "not_found")
    assert (query.status_code, set(query.data["fields"])) == (400, {"search"})
