"""What the estimator promises: growth, caution outside what was measured, and no panic."""

from math import exp, inf, log, nan, sqrt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pricing.estimating import coverage, surfaces
from pricing.estimating.coverage import posterior

COMMON = coverage.common_practice()
TILE_MM2 = surfaces.rectangle(101.6, 101.6, 6.35).wetted_area_mm2
CANVAS_MM2 = surfaces.rectangle(203.2, 203.2, 38.1).wetted_area_mm2


@pytest.fixture(scope="module")
def practice():
    return coverage.Estimator(COMMON)


def own(volume_ml, area_mm2=TILE_MM2, technique="bloom", layer="base", **more):
    return coverage.Observation(technique, layer, area_mm2, volume_ml, **more)


def estimator(*pours, **settings):
    return coverage.Estimator([*COMMON, *pours], coverage.Settings(**settings))


# Growth.

pours = st.builds(
    own,
    volume_ml=st.floats(1, 3000),
    area_mm2=st.floats(3_000, 600_000),
    technique=st.sampled_from(coverage.TECHNIQUES),
    layer=st.sampled_from(("base", "colours")),
    count=st.integers(1, 8),
)


@settings(deadline=None, max_examples=80)
@given(
    st.lists(pours, max_size=8),
    st.sampled_from(coverage.TECHNIQUES),
    st.sampled_from(("base", "colours")),
    st.floats(30, 900),
    st.floats(30, 900),
    st.floats(0, 60),
    st.integers(1, 12),
    st.floats(1.0001, 2.5),
)
def test_volume_grows_with_every_dimension(
    logged, technique, layer, width, height, depth, count, more
):
    asked = estimator(*logged)

    def take(wide, high, deep, several):
        piece = surfaces.rectangle(wide, high, deep)
        return asked.forecast(technique, layer, piece.wetted_area_mm2, several).median

    least = take(width, height, depth, count) * (1 - 1e-9)
    assert take(width * more, height, depth, count) >= least
    assert take(width, height * more, depth, count) >= least
    assert take(width, height, (depth + 1) * more, count) >= least
    assert take(width, height, depth, count + 1) > least


@pytest.mark.parametrize("technique", coverage.TECHNIQUES)
def test_a_larger_piece_always_takes_more_and_has_more_mixed(practice, technique):
    cells = [(technique, "base", float(area), 1) for area in np.geomspace(1e3, 3e6, 400)]

    forecasts = practice.forecast_many(cells)

    for amount in (lambda one: one.median, coverage.to_mix, lambda one: one.low):
        assert (np.diff([amount(one) for one in forecasts]) > 0).all()


def test_where_logs_contradict_each_other_a_larger_piece_takes_no_less():
    # Ten times as much on a tile as on pieces half as large again: somebody misread a scale.
    logged = [own(200, 12_000), own(210, 12_500), own(20, 20_000), own(21, 21_000)] * 3
    cells = [("bloom", "base", float(area), 1) for area in np.geomspace(2e3, 2e5, 300)]

    medians = [one.median for one in estimator(*logged).forecast_many(cells)]

    assert (np.diff(medians) >= -1e-9 * np.array(medians[1:])).all()
    assert medians[0] < medians[120] < medians[-1]


# Outside what was measured.


@pytest.mark.parametrize("technique", coverage.TECHNIQUES)
def test_far_outside_thickness_is_the_techniques_mean_and_the_range_widens(technique):
    logged = [own(30, 13_000, technique), own(420, 80_000, technique), own(35, 14_000, technique)]
    asked = estimator(*logged)
    smallest, largest = asked.measured_range(technique, "base")

    def film(area_mm2):
        return asked.forecast(technique, "base", area_mm2).median * 1000 / area_mm2

    far = [np.pi * (largest * 2**k) ** 2 for k in range(9)]
    spreads = [asked.forecast(technique, "base", area).ln_sd for area in far]
    films = [film(area) for area in far]

    # The level alone, without what size does: what is left of the covariance far away.
    layer = asked._layer("base")
    s = asked.settings
    technique_number = coverage.TECHNIQUES.index(technique)
    alike = layer.places.techniques == technique_number
    near = alike * s.level_sd**2 + layer.places.own * (s.hand_sd**2 + alike * s.knack_sd**2)
    mean = exp(layer.mean + float(layer.posterior.mean(near[None, :])[0]))
    assert films[-1] == pytest.approx(mean, rel=1e-6)
    assert film(np.pi * (smallest / 300) ** 2) == pytest.approx(mean, rel=1e-6)
    assert sorted(spreads) == spreads
    assert spreads[-1] > spreads[0] + 0.2
    # A power law through the last two sizes would go on; this comes back.
    assert abs(log(films[-1] / mean)) < abs(log(films[0] / mean)) + 1e-6


def test_outside_is_said_a_quarter_beyond_the_sizes_poured():
    asked = estimator()
    smallest, largest = asked.measured_range("bloom", "base")

    def outside(radius_mm):
        return asked.forecast("bloom", "base", np.pi * radius_mm**2).outside_measured

    assert smallest == pytest.approx(sqrt(TILE_MM2 / np.pi))
    assert largest == pytest.approx(sqrt(CANVAS_MM2 / np.pi))
    assert not outside(smallest * exp(-0.24))
    assert not outside(largest * exp(0.24))
    assert outside(smallest * exp(-0.26))
    assert outside(largest * exp(0.26))


def test_a_pour_moves_the_edge_of_what_is_measured():
    area_mm2 = 300_000
    assert estimator().forecast("bloom", "base", area_mm2).outside_measured
    before = estimator().forecast("bloom", "base", area_mm2)
    after = estimator(own(1500, area_mm2)).forecast("bloom", "base", area_mm2)

    assert not after.outside_measured
    assert after.ln_sd < before.ln_sd


# One spilled cup.


def once_spilled(count, factor, place):
    """So many like pours within their noise, one of them spilled."""
    draw = np.random.default_rng(11)
    volumes = 24 * np.exp(draw.normal(0, 0.12, count))
    volumes[place] *= factor
    return [own(float(volume)) for volume in volumes]


@pytest.mark.parametrize("place", range(6))
def test_one_spilled_cup_among_six_pours_moves_the_forecast_by_a_tenth_at_most(place, monkeypatch):
    def moved_by_a_spill():
        good, spilled = (
            estimator(*once_spilled(6, factor, place)).forecast("bloom", "base", TILE_MM2)
            for factor in (1, 3)
        )
        return abs(spilled.ln_median - good.ln_median)

    doubted = moved_by_a_spill()
    monkeypatch.setattr(posterior, "LIMIT", inf)
    believed = moved_by_a_spill()

    assert doubted < log(1.1)
    assert believed > log(1.15)
    assert doubted < 0.55 * believed


@pytest.mark.parametrize("factor", [3, 10, 1000, 0.01])
def test_the_worse_the_slip_the_less_it_is_believed(factor):
    logged = once_spilled(10, factor, 4)
    asked = estimator(*logged)
    clean = estimator(*logged[:4], *logged[5:]).forecast("bloom", "base", TILE_MM2)
    trust = {one.observation: one.trust for one in asked.why("bloom", "base", TILE_MM2, top=100)}

    forecast = asked.forecast("bloom", "base", TILE_MM2)

    assert abs(log(forecast.median / clean.median)) < log(1.05)
    assert trust.pop(logged[4]) < 0.5
    assert all(share > 0.8 for share in trust.values())


def test_what_everybody_does_is_never_doubted():
    heavy = [own(24 * 3) for _ in range(8)]
    influences = estimator(*heavy).why("bloom", "base", TILE_MM2, top=100)

    assert all(one.trust == 1 for one in influences if not one.observation.own)


# Answers.


def test_why_lists_what_weighed_most():
    near, far = own(25, 13_000, label="near"), own(700, 400_000, label="far")
    other = own(30, 13_000, "ring-pour", label="other")
    influences = estimator(near, far, other).why("bloom", "base", 13_000, top=4)

    assert influences[0].observation.label == "near"
    assert sorted((one.share for one in influences), reverse=True) == [
        one.share for one in influences
    ]
    assert len(influences) == 4
    everything = estimator(near, far, other).why("bloom", "base", 13_000, top=1000)
    assert sum(one.share for one in everything) == pytest.approx(1)
    assert len(everything) == sum(one.layer == "base" for one in COMMON) + 3


def test_a_table_has_the_same_answers_in_the_same_order():
    asked = estimator(own(25), own(300, CANVAS_MM2))
    cells = [
        (technique, layer, area, count)
        for area, count in ((TILE_MM2, 1), (CANVAS_MM2, 3), (5e5, 2))
        for technique, layers in coverage.LAYERS_OF.items()
        for layer in layers
    ]

    table = asked.forecast_many(cells)

    for cell, forecast in zip(cells, table, strict=True):
        alone = asked.forecast(*cell)
        assert forecast.ln_median == pytest.approx(alone.ln_median, abs=1e-12)
        assert forecast.ln_sd == pytest.approx(alone.ln_sd, abs=1e-9)
        assert (forecast.technique, forecast.layer, forecast.count) == (cell[0], cell[1], cell[3])
    assert asked.forecast_many([]) == []


@pytest.mark.parametrize("technique", coverage.TECHNIQUES)
def test_all_layers_come_in_the_order_they_are_poured(practice, technique):
    layers = practice.forecasts(technique, TILE_MM2, 4)

    assert tuple(layers) == coverage.LAYERS_OF[technique]
    assert all(0 < one.low < one.median < one.high for one in layers.values())


def test_one_heavy_pour_moves_the_next_estimate_at_once(practice):
    before = practice.forecast("bloom", "base", CANVAS_MM2)
    after = estimator(own(1.3 * practice.forecast("bloom", "base", TILE_MM2).median)).forecast(
        "bloom", "base", CANVAS_MM2
    )

    assert 1.05 < after.median / before.median < 1.3
    assert after.ln_sd < before.ln_sd


def test_a_heavy_hand_shows_in_techniques_not_poured_yet(practice):
    logged = [
        own(1.4 * practice.forecast("flip-cup", "base", area).median, area, "flip-cup")
        for area in (13_000, 50_000, 90_000, 30_000)
    ]

    moved = estimator(*logged).forecast("bloom", "base", TILE_MM2).median

    assert 1.1 < moved / practice.forecast("bloom", "base", TILE_MM2).median < 1.4


# The plain rules, the score, and where paint goes.


def test_area_scaling_takes_the_latest_of_the_nearest_pours():
    logged = [own(20, 10_000), own(24, 10_000), own(300, 90_000), own(5, 10_000, layer="colours")]

    assert coverage.area_scaling(logged, "bloom", "base", 12_000) == pytest.approx(24 * 1.2)
    assert coverage.area_scaling(logged, "bloom", "base", 80_000) == pytest.approx(300 * 8 / 9)
    with pytest.raises(coverage.CoverageError, match="No swipe has been poured yet"):
        coverage.area_scaling(logged, "swipe", "base", 12_000)


def test_the_ounce_rule_is_an_ounce_for_25_square_inches():
    assert coverage.ounce_rule(25 * 645.16) == pytest.approx(29.5735295625, rel=1e-14)


def test_a_score_counts_what_fell_inside_and_takes_the_median_error():
    ranges = [(8, 10, 12), (80, 100, 120), (8, 10, 12), (1, 2, 3)]

    score = coverage.score(ranges, [11, 130, 8, 4], {"area": [22, None, 8, 2], "none": [None] * 4})

    assert score.count == 4
    assert score.inside == 0.5  # 11 and, on the edge, 8
    assert score.error == pytest.approx((30 / 130 + 0.25) / 2)  # of 1/11, 30/130, 1/4 and 1/2
    assert score.rules == {"area": pytest.approx(0.5)}  # of 1, 0 and 1/2
    assert coverage.score([], []) == coverage.Score(0, None, None, {})
    with pytest.raises(coverage.CoverageError, match="needs the amount"):
        coverage.score(ranges, [1, 2])
    with pytest.raises(coverage.CoverageError, match="needs the amount"):
        coverage.score(ranges, [1, 2, 3, 4], {"area": [1]})


def test_run_off_moves_from_practice_to_the_studios_own():
    start = coverage.learn_fractions("bloom")
    one = coverage.learn_fractions("bloom", kept=[0.1])
    many = coverage.learn_fractions("bloom", kept=[0.1] * 200, lost=[0.3] * 200)

    assert start.pours == 0
    assert one.kept == pytest.approx((3 * start.kept + 0.1) / 4)  # worth three pours
    assert many.kept == pytest.approx(0.1, abs=0.01)
    assert many.lost == pytest.approx(0.3, abs=0.01)
    assert many.on_piece == pytest.approx(1 - many.kept - many.lost)
    assert (one.pours, many.pours) == (1, 200)


@given(st.lists(st.floats(0, 1), max_size=9), st.lists(st.floats(0, 1), max_size=9))
def test_shares_of_what_is_poured_add_up_to_the_whole(kept, lost):
    shares = coverage.learn_fractions("swipe", kept, lost)

    assert shares.kept + shares.lost + shares.on_piece == pytest.approx(1)
    assert min(shares.kept, shares.lost, shares.on_piece) >= -1e-12


# Refusals.

FORECAST = coverage.Forecast("bloom", "base", 1, 3.0, 0.2, False)


@pytest.mark.parametrize(
    ("ask", "why"),
    [
        (lambda e: e.forecast("splash", "base", 1e4), "is not a technique. Choose bloom"),
        (lambda e: e.forecasts("", 1e4), "is not a technique"),
        (lambda e: e.forecast("flip-cup", "activator", 1e4), "has no layer “activator”"),
        (lambda e: e.forecast("bloom", "topcoat", 1e4), "has no layer “topcoat”"),
        (lambda e: e.forecast("bloom", "base", 0), "area above zero"),
        (lambda e: e.forecast("bloom", "base", -5), "area above zero"),
        (lambda e: e.forecast("bloom", "base", nan), "area above zero"),
        (lambda e: e.forecast("bloom", "base", inf), "area above zero"),
        (lambda e: e.forecast("bloom", "base", 1e4, 0), "whole number, at least one"),
        (lambda e: e.forecast("bloom", "base", 1e4, 1.5), "whole number, at least one"),
        (lambda e: e.forecast("bloom", "base", 1e4, nan), "whole number, at least one"),
        (lambda e: e.forecast("bloom", "base", 1e4, inf), "whole number, at least one"),
        (lambda e: e.why("bloom", "topcoat", 1e4), "has no layer"),
        (lambda e: e.why("bloom", "base", nan), "area above zero"),
        (lambda e: e.measured_range("flip-cup", "activator"), "has no layer"),
        (lambda e: e.measured_range("splash", "base"), "is not a technique"),
        (lambda e: coverage.Estimator([]).forecast("bloom", "base", 1e4), "Nothing is known"),
        (lambda e: own(0), "mL above zero"),
        (lambda e: own(-3), "mL above zero"),
        (lambda e: own(nan), "mL above zero"),
        (lambda e: own(inf), "mL above zero"),
        (lambda e: own(20, 0), "area above zero"),
        (lambda e: own(20, count=0), "whole number, at least one"),
        (lambda e: own(20, count=2.5), "whole number, at least one"),
        (lambda e: own(20, technique="splash"), "is not a pour"),
        (lambda e: own(20, layer="topcoat"), "is not a pour"),
        (lambda e: own(20, noise=0), "noise must be"),
        (lambda e: own(20, noise=nan), "noise must be"),
        (lambda e: FORECAST.quantile(0), "between 0 and 1"),
        (lambda e: FORECAST.quantile(nan), "between 0 and 1"),
        (lambda e: coverage.to_mix(FORECAST, 0.4), "chance of having enough"),
        (lambda e: coverage.to_mix(FORECAST, 1), "chance of having enough"),
        (lambda e: coverage.to_mix(FORECAST, nan), "chance of having enough"),
        (lambda e: coverage.to_mix(FORECAST, 0.9, 1), "stays in cups"),
        (lambda e: coverage.to_mix(FORECAST, 0.9, -0.1), "stays in cups"),
        (lambda e: coverage.to_mix(FORECAST, 0.9, nan), "stays in cups"),
        (lambda e: coverage.ounce_rule(0), "area above zero"),
        (lambda e: coverage.area_scaling([], "bloom", "base", nan), "area above zero"),
        (lambda e: coverage.learn_fractions("splash"), "is not a technique"),
        (lambda e: coverage.learn_fractions("bloom", kept=[1.2]), "between 0 and 1"),
        (lambda e: coverage.learn_fractions("bloom", lost=[nan]), "between 0 and 1"),
    ],
)
def test_what_cannot_be_is_refused_in_words(practice, ask, why):
    with pytest.raises(coverage.CoverageError, match=why) as refusal:
        ask(practice)

    text = str(refusal.value)
    assert text.endswith(".")
    assert text[0].isupper() or text[0] == "“"
