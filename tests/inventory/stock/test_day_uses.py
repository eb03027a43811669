"""The totals of each day's use agree with the ledger, whatever moved and wherever the studio is."""

from datetime import UTC, date, datetime
from decimal import Decimal

import pytest

from inventory.models import DayUse
from inventory.stock import books
from inventory.stock import ledger as stock
from studio.preferences import change_settings
from tests.factories.inventory import MaterialFactory
from tests.inventory.stock.shelves import receive, use

D = Decimal
pytestmark = pytest.mark.django_db
# 02:00 on the fifth in UTC is still the fourth in New York.
EARLY, NOON = datetime(2026, 5, 5, 2, tzinfo=UTC), datetime(2026, 5, 5, 12, tzinfo=UTC)
FOURTH, FIFTH = date(2026, 5, 4), date(2026, 5, 5)


@pytest.fixture
def white(studio):
    made = MaterialFactory(studio=studio, unit="g", tare_g=D(0))
    receive(made, (100, 10), happened_at=EARLY)
    return made


def days(material):
    return dict(material.day_uses.exclude(quantity=0).values_list("day", "quantity"))


def test_what_leaves_for_good_is_counted_on_its_day(studio, white):
    bottle = white.bottles.get()
    use(white, 20, happened_at=EARLY)
    use(white, 5, happened_at=NOON)
    stock.waste(studio=studio, by=None, bottle=bottle, quantity=D(3), happened_at=NOON)
    stock.send_back(studio=studio, by=None, bottle=bottle, quantity=D(2), happened_at=NOON)
    stock.weigh_in(studio=studio, by=None, bottle=bottle, gross_g=D(69), happened_at=NOON)
    stock.weigh_in(studio=studio, by=None, bottle=bottle, gross_g=D(75), happened_at=NOON)

    assert days(white) == {FIFTH: D(20 + 5 + 3 + 1 - 6)}
    assert books.check(studio) == []


def test_a_mix_is_no_use_of_itself_however_little_it_is(studio, white):
    mix = MaterialFactory(studio=studio, kind="mix")
    half = D("0.5")
    moves = [
        stock.StockMove("mix", white, -half),
        stock.StockMove("mix", mix, half, new_bottle=stock.Receipt(mix, half, None)),
    ]

    stock.post(studio=studio, by=None, moves=moves, happened_at=NOON)

    assert (days(white), days(mix)) == ({FIFTH: half}, {})


def test_undoing_takes_it_off_the_day_it_was_counted_on(studio, white):
    wrong = use(white, 20, happened_at=EARLY)
    use(white, 1, happened_at=EARLY)
    stock.reverse(studio=studio, by=None, entry=wrong, happened_at=NOON)

    assert days(white) == {FIFTH: D(1)}
    assert books.check(studio) == []


def test_another_time_zone_has_other_days(studio, white):
    use(white, 20, happened_at=EARLY)
    use(white, 5, happened_at=NOON)
    stale = use(white, 2, happened_at=EARLY)
    moved = change_settings(studio=studio, time_zone="America/New_York")

    assert days(white) == {FOURTH: D(22), FIFTH: D(5)}
    # Whoever read the studio before it moved counts on its new calendar all the same.
    assert studio.time_zone == "UTC" != moved.time_zone
    use(white, 3, happened_at=EARLY)
    stock.reverse(studio=studio, by=None, entry=stale)
    assert days(white) == {FOURTH: D(23), FIFTH: D(5)}
    assert books.check() == []


@pytest.mark.parametrize("wrong", [{"quantity": D("19.9999")}, {"day": FOURTH}])
def test_a_day_that_is_not_its_movements_is_named(studio, white, wrong):
    use(white, 20, happened_at=EARLY)
    DayUse.objects.update(**wrong)

    found = books.check(studio)

    assert {(each.check, each.row) for each in found} == {("days", f"Material {white.name}")}
    assert "its use on 2026-05-05 is kept as -" in " ".join(each.sentence for each in found)
