from decimal import Decimal as D

import pytest

from pricing import pours
from pricing.coverage import ounce_rule
from pricing.pours import LayerLog
from pricing.record import AREA, OUNCE, record
from tests.factories.bench import working_studio
from tests.factories.pricing import PourFactory, PourLayerFactory
from tests.pricing.test_pours import log

pytestmark = pytest.mark.django_db


@pytest.fixture
def bench():
    return working_studio()


def forecast_pour(bench, base, median, surface=None, count=1):
    """A pour with a forecast written beside it, of half to double its median."""
    pour = PourFactory(
        studio=bench.studio,
        surface=surface or bench.tile_size,
        technique=bench.bloom,
        palette=bench.palette,
        count=count,
    )
    PourLayerFactory(
        pour=pour,
        mixed_ml=D(base),
        forecast_low_ml=D(median) / 2,
        forecast_median_ml=D(median),
        forecast_high_ml=D(median) * 2,
    )
    return pour


def test_a_studio_without_pours_has_an_empty_record(bench):
    kept = record(bench.studio)

    assert (kept.layers, kept.overall.count, kept.overall.inside) == ((), 0, None)


def test_forecasts_are_scored_as_they_were_made(bench):
    """40 for 50 is 20 % under, 40 for 100 is 60 % under and outside, 40 for 40 is exact."""
    for poured in (50, 100, 40):
        forecast_pour(bench, poured, 40)

    kept = record(bench.studio)

    assert [row.inside for row in kept.layers] == [True, False, True]
    assert [round(row.error, 6) for row in kept.layers] == [0, -0.6, -0.2]
    assert (kept.overall.count, round(kept.overall.inside, 6)) == (3, round(2 / 3, 6))
    assert kept.overall.error == pytest.approx(0.2)
    assert kept.by_technique.keys() == {"bloom"}


def test_area_scaling_knows_only_what_came_before(bench):
    small = forecast_pour(bench, 30, 40)
    large = forecast_pour(bench, 300, 200, surface=bench.canvas_size)

    second, first = record(bench.studio).layers

    ratio = (
        bench.canvas_size.geometry().wetted_area_mm2 / bench.tile_size.geometry().wetted_area_mm2
    )
    assert (first.pour, first.scaled_ml) == (small, None)
    assert second.pour == large
    assert second.scaled_ml == pytest.approx(30 * ratio)


def test_whole_pours_are_held_against_the_ounce_rule(bench):
    forecast_pour(bench, 100, 80, count=4)

    totals = record(bench.studio).totals

    said = 4 * ounce_rule(bench.tile_size.geometry().wetted_area_mm2)
    assert totals.rules == {OUNCE: pytest.approx(abs(said - 100) / 100)}
    assert AREA not in totals.rules


def test_pours_set_aside_or_undone_are_left_out(bench):
    aside, undone = log(bench), log(bench)
    log(bench)

    pours.set_pour_aside(pour=aside, why="Spilled")
    pours.undo_pour(pour=undone, by=None, why="Twice")

    assert {row.pour.number for row in record(bench.studio).layers} == {3}


def test_the_last_pours_alone_can_be_asked_for(bench):
    for poured in (50, 100, 40):
        forecast_pour(bench, poured, 40)

    assert [row.poured_ml for row in record(bench.studio, last=2).layers] == [40, 100]


def test_another_studios_pours_are_not_in_it(bench):
    forecast_pour(working_studio(), 50, 40)

    assert record(bench.studio).layers == ()


@pytest.mark.parametrize("count", (1, 3))
def test_the_record_asks_once(bench, count, django_assert_num_queries):
    for _ in range(count):
        log(bench, layers={"base": LayerLog(D(60)), "colours": LayerLog(D(30))})

    with django_assert_num_queries(1):
        record(bench.studio)
