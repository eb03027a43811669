"""The first estimate after a new pour of a studio that poured 20,000 times, beside one of 500.

What is kept is read back, the last pours are looked at, and one size is asked for: all that a page
waits for. No fit is in it, so how the settings came about does not matter here; they are given.
"""

import tracemalloc
from datetime import timedelta

import numpy as np
import pytest
from django.utils import timezone
from threadpoolctl import threadpool_limits

from inventory.models import Entry
from pricing.estimating import coverage
from pricing.estimating.coverage import memory
from pricing.estimating.coverage.fitting import Learnt
from pricing.estimating.learning import _hand, hand_of
from pricing.estimating.remembering import learn_hand
from pricing.models import HandMemory, Pour, PourLayer
from tests.benchmarks.turns import measured
from tests.factories.pricing import PourFactory, PourLayerFactory, TechniqueFactory
from tests.factories.studio import StudioFactory

pytestmark = [pytest.mark.benchmark, pytest.mark.django_db]
FEW, MANY = 500, 20_000
ROUNDS = 15
MOST_GROWN, MOST_BYTES = 2, 64_000_000
LINES = [coverage.Line("bloom", 20_000), coverage.Line("swipe", 70_000, 4)]


def given(places, values, settings, before):
    """In place of a fit."""
    nothing = np.zeros(values.size)
    return Learnt(settings, nothing, nothing, np.zeros(4))


def filled(count):
    """Return a studio with so many pours of two layers, an hour apart, that learnt from them."""
    draw, studio = np.random.default_rng(count), StudioFactory()
    first = PourFactory(studio=studio, technique=TechniqueFactory(studio=studio, slug="bloom"))
    techniques = [first.technique, TechniqueFactory(studio=studio, slug="swipe")]
    started = timezone.now() - timedelta(hours=count)
    moments = [started + timedelta(hours=number) for number in range(count)]
    entries = Entry.objects.bulk_create(
        [Entry(studio=studio, happened_at=at, booked_on=at.date()) for at in moments]
    )
    pours = Pour.objects.bulk_create(
        Pour(
            studio=studio,
            number=1_000_000 + number,
            surface=first.surface,
            technique=techniques[number % 2],
            palette=first.palette,
            poured_at=at,
            entry=entry,
        )
        for number, (at, entry) in enumerate(zip(moments, entries, strict=True))
    )
    PourLayer.objects.bulk_create(
        PourLayer(pour=pour, layer=layer, mixed_ml=round(40 * np.exp(draw.normal(0, 0.15)), 2))
        for pour in pours
        for layer in ("base", "colours")
    )
    while not learn_hand(studio=studio):
        pass
    return studio


@pytest.fixture
def studios(monkeypatch):
    monkeypatch.setattr(memory, "learn", given)
    return filled(FEW), filled(MANY)


def newly_poured(studio):
    """Log one pour more, and return what a page that comes before the job waits for."""
    latest = studio.pours.order_by("-poured_at").first()
    pour = PourFactory(
        studio=studio,
        surface=latest.surface,
        technique=latest.technique,
        palette=latest.palette,
    )
    PourLayerFactory(pour=pour)

    def first_estimate():
        _hand.cache_clear()
        return hand_of(studio).estimator.job(LINES).total().median

    return first_estimate


def test_20000_pours_cost_hardly_more_than_500(studios, capsys):
    few, many = studios
    calls = [newly_poured(many), newly_poured(few)]
    with threadpool_limits(1):
        times = measured(*calls, limits=[(0, 1, MOST_GROWN)], rounds=ROUNDS, clock="processor")
    tracemalloc.start()
    calls[0]()
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    rows = HandMemory.objects.values_list("studio", "memory")
    kept = {studio: len(bytes(row)) for studio, row in rows}

    with capsys.disabled():
        many_s, few_s = (1e3 * each for each in times.medians)
        size = kept[many.pk] / 1e3
        print(
            f"\nfirst estimate after a new pour: {few_s:.0f} ms at {FEW}, {many_s:.0f} ms at "
            f"{MANY}, {peak / 1e6:.0f} MB; kept {size:.0f} kB"
        )
    assert peak < MOST_BYTES
    assert kept[many.pk] < 1.1 * kept[few.pk]
    assert many.pours.count() == MANY + 2
