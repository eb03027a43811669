"""Alerts: what stops work first is on top, and each says what to know."""

from datetime import timedelta
from decimal import Decimal

import pytest

from inventory.buying.alerts import alerts
from inventory.buying.demand import demand, levels
from inventory.buying.reasons import reorder_reasons
from inventory.buying.reordering import reorder_point_intermittent
from inventory.models import Bottle
from inventory.stock import holds
from inventory.stock import ledger as stock
from tests.factories.inventory import (
    MaterialFactory,
    OrderLineFactory,
    PackFactory,
    PurchaseOrderFactory,
    SupplierFactory,
    WorkFactory,
)
from tests.factories.studio import StudioFactory
from tests.inventory.stock.shelves import receive, use

D = Decimal
pytestmark = pytest.mark.django_db


def material(studio, name, on_hand=None, **options):
    made = MaterialFactory(studio=studio, name=name, **options)
    if on_hand:
        receive(made, (on_hand, 10))
    return made


def hold(made, quantity, label="Commission 1", **options):
    holds.hold(
        work=WorkFactory(studio=made.studio), label=label, needs={made: D(quantity)}, **options
    )


def said(studio):
    return [(alert.kind, alert.material.name) for alert in alerts(studio)]


def test_what_stops_work_first_is_on_top(studio):
    today = studio.today()
    expiring = material(studio, "Expiring", 100)
    Bottle.objects.filter(material=expiring).update(expires_on=today + timedelta(days=3))
    material(studio, "Low", 5, reorder_point=D(10))
    soon = material(studio, "Low soon", 100, reorder_point=D(90))
    use(soon, 60)
    material(studio, "Out", reorder_point=D(10))
    hold(material(studio, "Beyond", 10), 15)
    hold(material(studio, "Out and promised"), 15, "Commission 2")
    material(studio, "Fine", 100, reorder_point=D(10))

    assert said(studio) == [
        ("out", "Out and promised"),
        ("held_beyond_stock", "Beyond"),
        ("out", "Out"),
        ("low", "Low soon"),
        ("low", "Low"),
        ("expiring", "Expiring"),
    ]


def test_sentences_say_what_to_know(studio):
    day = studio.today() + timedelta(days=9)
    white = material(studio, "White", 50)
    hold(white, 30, "Commission 1")
    hold(white, 45, "Commission 2", needed_by=day)
    out = material(studio, "Out", reorder_point=D(10))
    order = PurchaseOrderFactory(studio=studio, status="sent")
    pack = PackFactory(studio=studio, supplier=order.supplier, material=out, size=D(250))
    OrderLineFactory(order=order, pack=pack, count=2)

    beyond, gone = alerts(studio)

    assert beyond.sentence == (
        "75 mL is promised and 50 mL is on hand: Commission 2 lacks 25 mL by "
        f"{day.day} {day:%B %Y}."
    )
    assert gone.sentence == "None is left. 500 mL is on order."


def test_what_is_on_order_is_not_low(studio):
    low = material(studio, "Low", 5, reorder_point=D(10))
    order = PurchaseOrderFactory(studio=studio)
    pack = PackFactory(studio=studio, supplier=order.supplier, material=low, size=D(250))
    OrderLineFactory(order=order, pack=pack)
    assert said(studio) == [("low", "Low")]  # a draft is no order yet

    type(order).objects.update(status="sent")

    assert said(studio) == []


def test_holds_that_free_stock_runs_low_count(studio):
    white = material(studio, "White", 100, reorder_point=D(20))
    assert said(studio) == []

    hold(white, 85)

    (alert,) = alerts(studio)
    assert alert.sentence == "15 mL is free; the reorder point is 20 mL."


def test_a_bottle_opened_long_ago_expires(studio):
    today = studio.today()
    white = material(studio, "White", opened_life_days=60)
    receive(white, (10, 1), (20, 1), (30, 1), received_on=today - timedelta(days=90))
    one, two, three = white.bottles.order_by("pk")
    Bottle.objects.filter(pk=one.pk).update(opened_on=today - timedelta(days=70))
    Bottle.objects.filter(pk=two.pk).update(opened_on=today - timedelta(days=29))
    Bottle.objects.filter(pk=three.pk).update(opened_on=today - timedelta(days=31))

    found = alerts(studio)

    (alert,) = found
    assert (alert.bottle, alert.days_left, alert.bottles, alert.severity) == (one, -10, 2, 3)
    assert alert.sentence.startswith(f"2 bottles with 40 mL: the first, {one.code}, expired on ")
    assert alert.title == "White: 2 bottles have expired or expire soon"
    Bottle.objects.filter(pk=three.pk).update(opened_on=today)
    (alone,) = alerts(studio)
    assert alone.sentence.startswith(f"{one.code} with 10 mL expired on ")
    assert alone.fingerprint == alert.fingerprint and alone.severity < alert.severity


def test_what_nobody_misses_raises_no_alert(studio):
    idle = material(studio, "Idle")
    PackFactory(studio=studio, material=idle)
    pot = material(studio, "Reclaimed paint", 10, kind="mix")
    use(pot, 10)
    material(studio, "Tap water", is_stocked=False, reorder_point=D(5))
    away = material(studio, "Archived", reorder_point=D(5))
    type(away).objects.filter(pk=away.pk).update(archived_at="2026-01-01T00:00Z")
    material(StudioFactory(), "Another studio's", reorder_point=D(5))

    # A pot of run-off is used up, and nobody sells it: there is nothing to do about it.
    assert alerts(studio) == []


def test_reorder_points_are_learned_from_the_ledger(studio):
    now = studio.today()
    shop = SupplierFactory(studio=studio, lead_days=D(10), lead_sd_days=D(3))
    white = material(studio, "White")
    PackFactory(studio=studio, supplier=shop, material=white)
    receive(white, (5000, 10), received_on=now - timedelta(days=89))
    moment = white.bottles.get().movements.get().entry.happened_at
    for days_ago, quantity in ((60, 100), (40, 150), (40, 50), (20, 120)):
        use(white, quantity, happened_at=moment - timedelta(days=days_ago))

    learned = demand(studio, white)
    (point,) = (level.point for level in levels(studio) if level.material == white)

    assert (learned.uses, learned.days) == ((100.0, 200.0, 120.0), 90)
    expected = reorder_point_intermittent([100, 200, 120], 90, 10, 0.95, 3)
    assert point == expected


def test_a_use_that_was_undone_is_no_demand(studio):
    white = material(studio, "White", 100)
    stock.reverse(studio=studio, by=None, entry=use(white, 40), why="")
    use(white, 10)

    assert demand(studio, white).uses == (10.0,)


def test_a_reorder_point_by_hand_comes_first_and_says_so(studio):
    white = material(studio, "White", 100, reorder_point=D("12.5"))

    (level,) = levels(studio)

    assert level.material == white
    assert (level.reorder_at, level.point.basis) == (D("12.5"), "by_hand")
    assert reorder_reasons(level, studio)[0] == "Set by hand at 12.5 mL."


@pytest.mark.parametrize("rows", (1, 3))
def test_alerts_ask_the_same_number_of_questions(studio, django_assert_num_queries, rows):
    for number in range(rows):
        made = material(studio, f"White {number}", shelf_life_days=5, reorder_point=D(50))
        receive(made, (10, 1), pack=PackFactory(studio=studio, material=made))
        hold(made, 20, label=f"Work {number}")

    # holds, orders, materials, packs, history and its packs, uses, open quotes, bottles, quotes to
    # heed
    with django_assert_num_queries(10):
        found = alerts(studio)

    assert len(found) == 2 * rows
