"""Every list of stored rows tells what was changed since a moment, if it is asked."""

from datetime import UTC, datetime, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from studio.api.viewsets import Listed
from studio.models import AppendOnly, Tracked
from tests.api.described import description, operation_of
from tests.api.routes import KEYS, address, endpoints
from tests.api.test_lists import LISTS, described_lists
from tests.conftest import member
from tests.factories.everything import one_of_everything
from tests.factories.going_on import WITH
from tests.factories.inventory import CostingChangeFactory, OrderLineFactory, PackFactory
from tests.factories.pricing import (
    CommissionLineFactory,
    ConsignedSetFactory,
    CustomerFactory,
    FinishedPieceFactory,
    PieceSetFactory,
    PourFactory,
)

LONG_AGO = datetime(2001, 1, 1, tzinfo=UTC)
# Lists that are worked out as they are asked for, or of what is below one row, and so have no
# moment of their own.
WORKED_OUT = {
    "api-alerts-list": "what to do now, of demand, stock, prices and days",
    "api-holds-list": "what of each promise is covered now, first promised first served",
    "api-promised-list": "what each commission still needs now",
    "api-running-out-list": "the days on which materials run out, of their use",
    "api-owed-list": "sums of what was agreed and paid",
    "api-profit-list": "what sales earned, of costs that may still change",
    "api-profit-cuts": "sums of profit",
    "api-break-even": "sums of costs and prices",
    "api-habits-list": "what was learned from all pours",
    "api-hindsight-list": "estimates beside what was poured",
    "api-record-list": "forecasts beside what was poured",
    "api-exports": "the names of the files there are",
    "api-commissions-sale-prices": "shares of a quote",
    "api-materials-prices": "what was paid for one material, of its deliveries",
    "api-recipes-questions": "what is doubtful about one recipe, judged as it is asked for",
    "api-bottles-movements": "the movements of one bottle, which is told itself when it moves",
    "api-counts-lines": "the lines of one count, which is told itself when one of them changes",
}
WHY = {"why": "by mistake"}
# For each list an act at the front door that changes the row: method, address and what is sent.
ACTS = {
    "api-people-list": ("patch", "api-people-detail", {"role": "viewer"}),
    "api-materials-list": ("patch", "api-materials-detail", {"notes": "thick"}),
    "api-suppliers-list": ("patch", "api-suppliers-detail", {"notes": "slow"}),
    "api-packs-list": ("patch", "api-packs-detail", {"price": "7.10"}),
    "api-batches-list": ("post", "api-batches-undo", WHY),
    "api-recipes-list": ("patch", "api-recipes-detail", {"trace_seconds": "3"}),
    "api-bottles-list": ("post", "api-bottles-count", {"quantity": 40}),
    "api-counts-list": (
        *("post", "api-counts-record"),
        lambda one: {"bottle": one.bottle.code, "quantity": "99", "confirmed": True},
    ),
    "api-entries-list": ("post", "api-entries-reverse", WHY),
    "api-deliveries-list": ("post", "api-bottles-count", {"quantity": 40}),
    "api-orders-list": ("patch", "api-order-lines", {"count": 9}),
    "api-costing-changes-list": ("post", "api-costing-changes-withdraw", {}),
    "api-appraisals-list": ("post", "api-appraisals-withdraw", {}),
    "api-closings-list": ("post", "api-closings-reopen", WHY),
    "api-surfaces-list": ("patch", "api-surfaces-detail", {"nominal": "4 in"}),
    "api-techniques-list": (
        *("patch", "api-techniques-detail"),
        {"steps": [{"step": "pour", "fixed_minutes": "9", "minutes_each": "1"}]},
    ),
    "api-palettes-list": ("patch", "api-palettes-detail", {"notes": "of the sea"}),
    "api-resin-kits-list": ("patch", "api-resin-kits-detail", {"cure_hours": "70"}),
    "api-products-list": ("patch", "api-products-detail", {"price": "31"}),
    "api-channels-list": ("patch", "api-channels-detail", {"fixed_fee": "0.30"}),
    "api-days-off-list": ("post", "api-days-off-list", {"first": "2027-01-07"}),
    "api-calendar-links-list": ("post", "api-calendar-links-list", {}),
    "api-customers-list": ("patch", "api-customers-detail", {"phone": "12"}),
    "api-commissions-list": ("patch", "api-commissions-detail", {"title": "Other tiles"}),
    "api-quotes-list": ("post", "api-quotes-send", WITH),
    "api-pours-list": ("post", "api-pours-set-aside", {"why": "spilt"}),
    "api-pairs-list": ("post", "api-pairs-rate", {"first": 4}),
    "api-weighings-list": (
        *("post", "api-weighings-list"),
        lambda one: {"pour": one.pour.number, "piece": one.piece.number, "grams": "209"},
    ),
    "api-tile-answers-list": (
        *("post", "api-tile-answers-list"),
        lambda one: {"pour": one.tile_again.number, "accepted": True, "name": "Wren Alder"},
    ),
    "api-pictures-list": ("patch", "api-pictures-detail", {"caption": "That blue"}),
    "api-pieces-list": ("post", "api-sets-list", lambda one: {"pieces": [one.piece.pk], **WITH}),
    "api-sets-list": ("post", "api-sales-refund", WHY),
    "api-payments-list": ("post", "api-commissions-take-payment", {"amount": "1"}),
    "api-invoices-list": ("post", "api-invoices-credit", WHY),
    "api-sales-list": ("post", "api-sales-refund", WHY),
    "api-gone-on-list": (
        *("post", "api-sets-list"),
        lambda one: {"pieces": [one.piece.pk], "reason": "For our own shelf"},
    ),
    "api-consignments-list": (
        *("post", "api-consignments-settle"),
        lambda one: {"items": [{"set": one.out.number, "outcome": "returned"}]},
    ),
}
# The act adds a row, and leaves the one that was there.
ADDED = {
    *(
        "api-gone-on-list",
        "api-tile-answers-list",
        "api-days-off-list",
        "api-calendar-links-list",
        "api-payments-list",
        "api-invoices-list",
        "api-weighings-list",
    ),
}


@pytest.fixture
def one(owner, studio):
    one = one_of_everything(studio)
    one.membership = member(studio, "maker").membership
    one.piece = FinishedPieceFactory(studio=studio, pour=one.pour)  # loose
    one.pair.first, one.pair.second = FinishedPieceFactory.create_batch(
        2, studio=studio, pour=one.pour
    )
    one.pair.save()
    one.tile_again = PourFactory(studio=studio, line=one.test_tile.line)
    one.bottle.delivery = one.delivery
    one.bottle.save()
    one.costing_change = CostingChangeFactory(
        studio=studio, from_day=studio.today() + timedelta(days=9), withdrawn_at=None
    )
    one.out = PieceSetFactory(studio=studio)
    ConsignedSetFactory(consignment=one.consignment, piece_set=one.out)
    return one


def views():
    """Return {name: viewset} of the lists that take the moment."""
    return {
        name: pattern.callback.cls
        for name, pattern, _ in endpoints()
        if getattr(pattern.callback, "actions", {}).get("get") == "list"
        and issubclass(pattern.callback.cls, Listed)
    }


def key_of(name):
    """Return where the row of a list stands in what there is one of, and what it is named by."""
    noun = name.removeprefix("api-").removesuffix("-list")
    return KEYS[noun]


def told(person, name, one, **asked):
    """Return what names the rows of a list."""
    key = key_of(name)[1]
    answer = person.api.get(address(name, one), {"page_size": 200, **asked})
    assert answer.status_code == 200, (name, answer.data)
    return {row["id" if key == "pk" else key] for row in answer.data["results"]}


def test_every_list_takes_the_moment_or_is_worked_out():
    taking = {
        name
        for name in described_lists() - WORKED_OUT.keys()
        if {"$ref": "#/components/parameters/ChangedSince"}
        in operation_of("GET", address(name, None))[0]["parameters"]
    }

    assert taking == described_lists() - WORKED_OUT.keys() == views().keys() == ACTS.keys()
    assert "changed_since" in str(description()["components"]["parameters"]["ChangedSince"])


@pytest.mark.parametrize("name", ACTS)
def test_what_an_act_changes_is_told_since_a_moment_before_it(owner, one, name):
    method, where, body = ACTS[name]
    row, key = key_of(name)
    changed = set() if name in ADDED else {getattr(getattr(one, row), key)}
    known = told(owner, name, one)
    before = timezone.now()
    assert told(owner, name, one, changed_since=before.isoformat()) == set()

    done = getattr(owner.api, method)(
        address(where, one), body(one) if callable(body) else body, format="json"
    )

    assert done.status_code < 300, done.data
    after = timezone.now()
    expected = changed | (told(owner, name, one) - known)
    assert expected
    assert told(owner, name, one, changed_since=before.isoformat()) == expected
    assert told(owner, name, one, changed_since=after.isoformat()) == set()


def test_what_is_taken_out_of_a_row_is_a_change_of_it(owner, one):
    order_line = OrderLineFactory(
        order=one.order, pack=PackFactory(studio=one.studio, supplier=one.supplier)
    )
    line = CommissionLineFactory(commission=one.commission)
    before = timezone.now().isoformat()

    orders = owner.api.patch(
        f"/api/v1/orders/{one.order.number}/lines/{order_line.pk}/", {"count": 0}
    )
    commissions = owner.api.delete(f"/api/v1/commissions/{one.commission.number}/lines/{line.pk}/")

    assert (orders.status_code, commissions.status_code) == (200, 204)
    assert told(owner, "api-orders-list", one, changed_since=before) == {one.order.number}
    assert told(owner, "api-commissions-list", one, changed_since=before) == {one.commission.number}


def test_since_long_ago_a_list_is_the_same_and_asks_as_often(owner, one):
    for _ in range(2):
        one_of_everything(one.studio)
    one_of_everything(member(PieceSetFactory().studio, "owner").studio)
    usual, since, asked = {}, {}, {}

    for name in views():
        usual[name] = owner.api.get(address(name, one)).data
        with CaptureQueriesContext(connection) as queries:
            since[name] = owner.api.get(
                address(name, one), {"changed_since": LONG_AGO.isoformat()}
            ).data
        asked[name] = len(queries)

    assert since == usual
    assert {name: asked[name] for name in LISTS if name in asked} == {
        name: count for name, count in LISTS.items() if name in asked
    }


def test_what_was_put_away_is_told_where_the_list_has_it(owner, one):
    before = timezone.now().isoformat()
    owner.api.delete(address("api-customers-detail", one))

    assert told(owner, "api-customers-list", one, changed_since=before) == set()
    everything = {"changed_since": before, "archived": "true"}
    assert told(owner, "api-customers-list", one, **everything) == {one.customer.pk}


def test_a_change_counts_from_its_own_microsecond_on(owner, studio):
    customer = CustomerFactory(studio=studio)
    at = customer.changed_at

    told_at, told_later = (
        owner.api.get("/api/v1/customers/", {"changed_since": moment.isoformat()}).data["count"]
        for moment in (at, at + timedelta(microseconds=1))
    )

    assert (told_at, told_later) == (1, 0)


@pytest.mark.parametrize(
    "moment", ("yesterday", "", "2026-02-30T00:00:00Z", "0001-01-01T00:00:00Z")
)
def test_what_is_no_moment_is_refused_by_its_name(owner, moment):
    answer = owner.api.get("/api/v1/customers/", {"changed_since": moment})

    assert (answer.status_code, set(answer.data["fields"])) == (400, {"changed_since"})


def test_a_list_that_is_worked_out_takes_no_moment(owner):
    answer = owner.api.get("/api/v1/alerts/", {"changed_since": "2026-01-01T00:00:00Z"})

    assert (answer.status_code, answer.data["fields"].keys()) == (400, {"changed_since"})


@pytest.mark.parametrize("name", sorted(views()))
def test_a_list_goes_by_the_moment_of_each_row_that_stands_in_it(name):
    view = views()[name]
    out = getattr(view.list, "gives", None) or view.out
    fields = out(context={"request": None}).fields.items()
    inner = {
        field.source.replace(".", "__"): field.child.Meta.model
        for _, field in fields
        if hasattr(getattr(getattr(field, "child", None), "Meta", None), "model")
    }

    assert issubclass(view.model, Tracked | AppendOnly)
    assert {
        f"{path}__changed_at" for path, model in inner.items() if issubclass(model, Tracked)
    } <= {*view.changed_by}
    # What is only ever added came with its row.
    assert all(issubclass(model, Tracked | AppendOnly) for model in inner.values())
