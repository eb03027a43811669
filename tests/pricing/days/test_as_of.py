"""A past day shows what was shown on that very day, and what a second count of its facts says."""

from collections import defaultdict
from datetime import UTC, date, datetime
from decimal import Decimal as D
from fractions import Fraction

import pytest

from inventory.models import Movement
from inventory.stock import books
from inventory.stock import ledger as stock
from inventory.stock.promised_then import promised_on
from pricing.commissions import owing
from pricing.earnings.valuation import valuation
from pricing.models import Payment
from studio.closing import close_months
from studio.models import Studio
from tests.pricing.days.story import Days, shown

pytestmark = pytest.mark.django_db
STORIES = [
    (1, {"currency": "USD", "time_zone": "America/New_York"}),
    (2, {"currency": "JPY", "time_zone": "Asia/Tokyo", "costing": "moving_average"}),
    (3, {"currency": "KWD", "time_zone": "Asia/Kuwait", "run_off_value": "base"}),
    (4, {"currency": "EUR", "time_zone": "Pacific/Auckland", "costing": "moving_average"}),
]


def shown_of(studio, day):
    return shown(valuation(studio, day), owing.owed(studio, day), promised_on(studio, day))


@pytest.mark.parametrize(("seed", "settings"), STORIES)
def test_a_past_day_shows_what_it_showed_when_it_was_lived(monkeypatch, seed, settings):
    settings = {"rounding_step": 1} | settings
    days = Days(monkeypatch, seed, **settings).live(140)
    studio = Studio.objects.get(pk=days.studio.pk)

    assert books.check(studio) == []
    # What has been taken apart since is told by its cost alone.
    apart = {one.label for one in studio.sets.exclude(unpacked_at=None)}
    for day, then in days.shown.items():
        again = shown_of(studio, day)
        assert again.materials == then.materials, day
        costs = {label: row[:2] for label, row in again.finished.items()}
        assert costs == {label: row[:2] for label, row in then.finished.items()}, day
        values = {label: row for label, row in again.finished.items() if label not in apart}
        assert values == {label: then.finished[label] for label in values}, day
        assert again.owed == then.owed, day
        assert again.promised == then.promised, day


def test_what_comes_late_changes_a_past_day_unless_its_month_is_closed(monkeypatch):
    """Both uses of 10 mL are dated 20 March; before the second, March is closed."""
    days = Days(monkeypatch, 6, currency="USD")
    days.clock.go_on(days=40)  # 11 April
    then, march = datetime(2026, 3, 20, 12, tzinfo=UTC), date(2026, 3, 31)
    bench, studio = days.bench, days.studio

    def white():
        (row,) = [one for one in valuation(studio, march).materials if one.material == bench.white]
        return row.quantity

    before, found = white(), []
    for _ in range(2):
        amounts = {bench.white: D(10)}
        stock.use(studio=studio, by=None, amounts=amounts, happened_at=then)
        found.append(before - white())
        if studio.closed_up_to is None:
            close_months(studio=studio, by=None, up_to=march)

    assert found == [D(10), D(10)]
    bench.white.refresh_from_db()
    assert before - bench.white.on_hand == D(20)
    assert books.check(studio) == []


@pytest.mark.parametrize("seed", (11, 12))
def test_a_second_count_of_the_facts_agrees_where_acts_are_dated_back(monkeypatch, seed):
    """Amounts and costs are plain sums of movements, what was paid one of papers, in fractions."""
    days = Days(monkeypatch, seed, looks_back=True, currency="EUR", rounding_step=1).live(110)
    studio = Studio.objects.get(pk=days.studio.pk)

    assert books.check(studio) == []
    for day, then in days.shown.items():
        again = shown_of(studio, day)
        stood = {name: row[:2] for name, row in again.materials.items()}
        assert stood == counted_stock(studio, day), day
        paid = counted_payments(studio, day)
        assert {key: row[2] for key, row in again.owed.items()} == {
            key: paid[key] for key in again.owed
        }, day
        # A promise is what was promised that evening, whatever was dated back later.
        held = {key: row[0] for key, row in again.promised.items()}
        assert held == {key: row[0] for key, row in then.promised.items()}, day


def counted_stock(studio, day):
    left = defaultdict(lambda: [Fraction(), Fraction()])
    for move in Movement.objects.filter(studio=studio).select_related("entry", "material"):
        if move.entry.booked_on <= day:
            left[move.material.name][0] += Fraction(move.quantity)
            left[move.material.name][1] += Fraction(move.value)
    return {name: tuple(both) for name, both in left.items() if both[0] > 0}


def counted_payments(studio, day):
    paid = defaultdict(Fraction)
    for one in Payment.objects.filter(studio=studio).select_related("commission"):
        if one.booked_on <= day:
            paid[one.commission.number] += Fraction(one.amount)
    return paid
