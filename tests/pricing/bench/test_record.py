from datetime import UTC, date, datetime
from decimal import Decimal as D
from importlib import import_module

import pytest
from django.apps import apps
from django.urls import reverse

from pricing.bench import pours
from pricing.bench.pours import LayerLog
from pricing.bench.record import AREA, OUNCE, recorded_layers, scores
from pricing.estimating.coverage import ounce_rule
from pricing.estimating.sizes import geometry
from pricing.models import PourLayer
from tests.conftest import member
from tests.factories.bench import working_studio
from tests.factories.pricing import PourFactory, PourLayerFactory
from tests.pricing.bench.test_pours import log

pytestmark = pytest.mark.django_db


@pytest.fixture
def bench():
    return working_studio()


def forecast_pour(bench, base, median, surface=None, count=1, **more):
    """A pour with a forecast written beside it, of half to double its median."""
    surface = surface or bench.tile_size
    more = {"technique": bench.bloom, **more}
    rule_ml = count * D(str(round(ounce_rule(geometry(surface).wetted_area_mm2), 3)))
    pour = PourFactory(
        studio=bench.studio,
        surface=surface,
        palette=bench.palette,
        count=count,
        rule_ml=rule_ml,
        **more,
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
    kept = scores(bench.studio)

    assert (kept.rows, kept.overall.count, kept.overall.inside, kept.months) == ((), 0, None, ())


def test_forecasts_are_scored_as_they_were_made(bench):
    """40 for 50 is 20 % under, 40 for 100 is 60 % under and outside, 40 for 40 is exact."""
    for poured in (50, 100, 40):
        forecast_pour(bench, poured, 40)

    kept = scores(bench.studio)

    assert [row.fell_inside for row in recorded_layers(bench.studio)] == [True, False, True]
    errors = [round(row.forecast_error, 6) for row in recorded_layers(bench.studio)]
    assert errors == [0, -0.6, -0.2]
    assert [row.inside for row in kept.rows] == [True, False, True]
    assert (kept.overall.count, round(kept.overall.inside, 6)) == (3, round(2 / 3, 6))
    assert kept.overall.error == pytest.approx(0.2)
    assert kept.by_technique.keys() == {"bloom"}


def test_area_scaling_knows_only_what_came_before(bench):
    small = log(bench, count=1, good_count=1, layers={"base": LayerLog(D(30))})
    more = {"surface": bench.canvas_size, "count": 1, "good_count": 1}
    large = log(bench, layers={"base": LayerLog(D(300))}, **more)

    second, first = recorded_layers(bench.studio)

    ratio = geometry(bench.canvas_size).wetted_area_mm2 / geometry(bench.tile_size).wetted_area_mm2
    assert (first.pour, first.scaled_ml) == (small, None)
    assert second.pour == large
    assert float(second.scaled_ml) == pytest.approx(30 * ratio, abs=0.001)


def test_what_the_rules_said_stays_as_it_was(bench):
    """Three pours: the last is scaled from the nearest in size, the latest of its size."""
    for poured in (30, 33):
        log(bench, count=1, good_count=1, layers={"base": LayerLog(D(poured))})
    pour = log(bench, count=2, good_count=2, layers={"base": LayerLog(D(80))})
    area = geometry(bench.tile_size).wetted_area_mm2
    before = scores(bench.studio).totals.rules

    bench.tile_size.width_mm *= 2
    bench.tile_size.save()

    assert pour.layers.get().scaled_ml == 66
    assert float(pour.rule_ml) == pytest.approx(2 * ounce_rule(area), abs=0.001)
    assert scores(bench.studio).totals.rules == before


def test_an_upgrade_writes_what_the_rules_would_have_said(bench):
    """The same as is kept when pours are logged one after another."""
    aside = log(bench, count=1, good_count=1, layers={"base": LayerLog(D(90))})
    pours.set_pour_aside(pour=aside, why="Spilled")
    for surface, poured in ((bench.canvas_size, 300), (bench.tile_size, 30), (bench.tile_size, 33)):
        layers = {"base": LayerLog(D(poured)), "colours": LayerLog(D(poured) / 3)}
        log(bench, surface=surface, count=1, good_count=1, layers=layers)
    names = ("pour__number", "layer", "scaled_ml", "pour__rule_ml")

    def kept():
        rows = PourLayer.objects.filter(pour__studio=bench.studio)
        return list(rows.order_by("pk").values_list(*names))

    before = kept()
    PourLayer.objects.update(scaled_ml=None)
    bench.studio.pours.update(rule_ml=None)
    import_module("pricing.migrations.0015_fill_rules").fill(apps, None)

    assert kept() == before
    assert [said is None for _, _, said, _ in before] == [True, True, True, *[False] * 4]


def test_whole_pours_are_held_against_the_ounce_rule(bench):
    forecast_pour(bench, 100, 80, count=4)

    totals = scores(bench.studio).totals

    said = 4 * ounce_rule(geometry(bench.tile_size).wetted_area_mm2)
    assert totals.rules == {OUNCE: pytest.approx(abs(said - 100) / 100, abs=1e-4)}
    assert AREA not in totals.rules


def test_pours_set_aside_or_undone_are_left_out(bench):
    aside, undone = log(bench), log(bench)
    log(bench)

    pours.set_pour_aside(pour=aside, why="Spilled")
    pours.undo_pour(pour=undone, by=None, why="Twice")

    assert {row.pour.number for row in recorded_layers(bench.studio)} == {3}
    assert scores(bench.studio).totals.count == 1


def test_the_last_pours_alone_can_be_asked_for(bench):
    for poured in (50, 100, 40):
        forecast_pour(bench, poured, 40)

    assert [row.poured_ml for row in recorded_layers(bench.studio, last=2)] == [40, 100]
    assert [row.poured_ml for row in scores(bench.studio, last=2).rows] == [40, 100]


def test_another_studios_pours_are_not_in_it(bench):
    forecast_pour(working_studio(), 50, 40)

    assert scores(bench.studio).rows == ()


def test_months_are_those_of_the_studios_clock(bench):
    """Half past eleven in the evening of 31 May in New York is June in Greenwich."""
    bench.studio.time_zone = "America/New_York"
    moments = (datetime(2026, 6, 1, 3, 30, tzinfo=UTC), datetime(2026, 6, 1, 4, 30, tzinfo=UTC))
    for moment, poured in zip(moments, (50, 100), strict=True):
        forecast_pour(bench, poured, 40, poured_at=moment)

    june, may = scores(bench.studio).months

    assert (june.month, may.month) == (date(2026, 6, 1), date(2026, 5, 1))
    assert (june.pours.error, may.pours.error) == (pytest.approx(0.6), pytest.approx(0.2))
    assert (june.layers.inside, may.layers.inside) == (0, 1)


@pytest.mark.parametrize("count", (1, 3))
def test_the_record_asks_once(bench, count, django_assert_num_queries):
    for _ in range(count):
        log(bench, layers={"base": LayerLog(D(60)), "colours": LayerLog(D(30))})

    with django_assert_num_queries(1):
        scores(bench.studio)


def text_of(response):
    return " ".join(response.content.decode().split())


@pytest.mark.parametrize("role", ["viewer", "maker", "owner"])
def test_every_member_sees_the_record(bench, role):
    assert member(bench.studio, role).client.get(reverse("record")).status_code == 200


def test_techniques_are_scored_apart_and_together(bench):
    """40 for 50 is 20 % under; 80 for 64 is 25 % over; the middle of both is 22.5 %."""
    forecast_pour(bench, 50, 40)
    swiped = forecast_pour(bench, 64, 80)
    swiped.technique = bench.studio.techniques.get(slug="swipe")
    swiped.save()

    kept = scores(bench.studio)

    errors = {slug: score.error for slug, score in kept.totals_by_technique.items()}
    assert errors == {"bloom": pytest.approx(0.2), "swipe": pytest.approx(0.25)}
    assert kept.totals.error == pytest.approx(0.225)
    assert all(OUNCE in score.rules for score in kept.totals_by_technique.values())


def test_the_page_shows_forecast_beside_what_was_poured(bench):
    for poured in (50, 100, 40):
        forecast_pour(bench, poured, 40)

    shown = text_of(member(bench.studio, "viewer").client.get(reverse("record")))

    assert '<span class="big">67%</span><span class="note">of 3 amounts' in shown
    assert "took <strong>100 mL</strong>, forecast 40 mL" in shown
    assert "(20–80 mL)" in shown
    assert (shown.count("</svg>inside"), shown.count("</svg>outside")) == (2, 1)


def test_the_curve_has_a_chart_and_a_table_for_each_layer(bench):
    pour = log(bench)
    client = member(bench.studio, "viewer").client

    bloom = text_of(client.get(reverse("record")))
    flip = text_of(client.get(reverse("record"), {"technique": "flip-cup"}))

    for layer in ("Base coat", "Colours", "Cell activator"):
        assert f'aria-label="{layer} of a bloom' in bloom
    assert f'<th scope="row">{pour}, {bench.tile_size}</th>' in bloom
    assert "4 × 4 in tile, ¼ in thick<br>" in bloom
    assert "Cell activator of a" not in flip
    # One a layer, and one of what was forecast.
    assert flip.count("The numbers</summary>") == 3


def test_a_technique_nobody_knows_falls_back_to_the_one_poured_most(bench):
    log(bench)
    client = member(bench.studio, "viewer").client

    assert client.get(reverse("record"), {"technique": "<x>"}).context["technique"] == "bloom"


def test_a_pour_set_aside_is_told_with_its_reason_and_a_way_back(bench):
    pour = log(bench)
    pours.set_pour_aside(pour=pour, why="Cup fell over")

    maker = text_of(member(bench.studio, "maker").client.get(reverse("record")))
    viewer = text_of(member(bench.studio, "viewer").client.get(reverse("record")))

    assert "Cup fell over" in maker
    assert reverse("pour-set-aside", args=[pour.number]) in maker
    assert reverse("pour-set-aside", args=[pour.number]) not in viewer


def test_another_studios_pours_are_not_on_the_page(bench):
    other = working_studio()
    forecast_pour(other, 50, 40)

    shown = text_of(member(bench.studio, "owner").client.get(reverse("record")))

    assert "No forecast to look back on yet" in shown


def test_the_page_sums_months_up_and_turns_pages(bench):
    for month in (5, 6):
        for _ in range(12):
            moment = datetime(2026, month, 2, 12, tzinfo=UTC)
            forecast_pour(bench, 50, 40, poured_at=moment)
    client = member(bench.studio, "viewer").client

    first, second = (text_of(client.get(reverse("record"), {"page": page})) for page in (1, 2))

    assert "Page 1 of 2" in first and "Page 2 of 2" in second
    assert (first.count("took <strong>"), second.count("took <strong>")) == (20, 4)
    for month in ("June 2026", "May 2026"):
        assert f'{month}</th><td class="num">12</td><td class="num">20%</td>' in first


@pytest.mark.parametrize("count", (1, 3))
def test_the_page_asks_as_often_for_one_pour_as_for_three(bench, count, django_assert_num_queries):
    for _ in range(count):
        log(bench, count=2, good_count=2)
    client = member(bench.studio, "viewer").client
    client.get(reverse("record"))

    # who asks in three; the scores; the state of the pours; a page of pours in three;
    # those left out
    with django_assert_num_queries(9):
        client.get(reverse("record"))
