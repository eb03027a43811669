"""What the estimator promises: growth, caution outside what was measured, and no panic."""

from dataclasses import replace
from math import exp, inf, log, nan, sqrt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pricing.estimating import coverage, surfaces
from pricing.estimating.coverage.forecast import Part

COMMON = coverage.common_practice()
TILE_MM2 = surfaces.rectangle(101.6, 101.6, 6.35).wetted_area_mm2
CANVAS_MM2 = surfaces.rectangle(203.2, 203.2, 38.1).wetted_area_mm2


@pytest.fixture(scope="module")
def practice():
    return coverage.Estimator(COMMON)


def own(volume_ml, area_mm2=TILE_MM2, technique="bloom", layer="base", **more):
    return coverage.Observation(technique, layer, area_mm2, volume_ml, **more)


def estimator(*pours):
    return coverage.Estimator([*COMMON, *pours], coverage.Settings())


def spread(forecast):
    return forecast.parts[0].ln_scale


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
        sides = piece.side_area_mm2 / piece.wetted_area_mm2
        line = coverage.Line(technique, piece.wetted_area_mm2, several, sides)
        return asked.job([line]).layer(layer).median

    least = take(width, height, depth, count) * (1 - 1e-9)
    assert take(width * more, height, depth, count) >= least
    assert take(width, height * more, depth, count) >= least
    assert take(width, height, (depth + 1) * more, count) >= least
    assert take(width, height, depth, count + 1) > least


@pytest.mark.parametrize("technique", coverage.TECHNIQUES)
def test_a_larger_piece_always_takes_more_and_has_more_mixed(practice, technique):
    jobs = practice.jobs(
        [coverage.Line(technique, float(area)) for area in np.geomspace(1e3, 3e6, 400)]
    )

    for amount in (
        lambda job: job.layer("base").median,
        lambda job: job.layer("base").quantile(job.enough()),
        lambda job: job.layer("base").low,
        lambda job: job.total().median,
    ):
        assert (np.diff([amount(job) for job in jobs]) > 0).all()


def test_where_logs_contradict_each_other_a_larger_piece_takes_no_less():
    # Ten times as much on a tile as on pieces half as large again: somebody misread a scale.
    logged = [own(200, 12_000), own(210, 12_500), own(20, 20_000), own(21, 21_000)] * 3
    lines = [coverage.Line("bloom", float(area)) for area in np.geomspace(2e3, 2e5, 300)]

    medians = [job.layer("base").median for job in estimator(*logged).jobs(lines)]

    assert (np.diff(medians) >= -1e-9 * np.array(medians[1:])).all()
    assert medians[0] < medians[120] < medians[-1]


# Outside what was measured.


@pytest.mark.parametrize("technique", ["bloom", "swipe", "straight-pour", "blow-out"])
def test_far_outside_thickness_tends_to_a_limit_and_the_range_widens(technique):
    logged = [own(30, 13_000, technique), own(420, 80_000, technique), own(35, 14_000, technique)]
    asked = estimator(*logged)
    smallest, largest = asked.measured_range(technique, "base")

    def film(area_mm2):
        return asked.forecast(technique, "base", area_mm2).median * 1000 / area_mm2

    far = [np.pi * (largest * 2**k) ** 2 for k in range(12)]
    spreads = [spread(asked.forecast(technique, "base", area)) for area in far]
    films = [film(area) for area in far]

    # What size does levels off on either side; the technique's level and the hand stay.
    tiny = [film(np.pi * (smallest / far) ** 2) for far in (3000, 6000)]
    assert films[-1] == pytest.approx(films[-2], rel=1e-3)
    assert tiny[0] == pytest.approx(tiny[1], rel=1e-3)
    assert (np.diff(spreads) > -0.01).all()
    assert spreads[-1] > spreads[0] + 0.2
    # A power law through the last two sizes would go on; this comes back.
    assert abs(log(films[-1] / films[1])) < 1.5


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
    assert spread(after) < spread(before)


# One spilled cup.


def once_spilled(count, factor, place):
    """So many like pours within their noise, one of them spilled."""
    draw = np.random.default_rng(11)
    volumes = 24 * np.exp(draw.normal(0, 0.12, count))
    volumes[place] *= factor
    return [own(float(volume)) for volume in volumes]


@pytest.mark.parametrize("place", range(6))
@pytest.mark.parametrize("factor", [3, 10])
def test_one_spilled_cup_among_six_pours_moves_the_forecast_by_a_tenth_at_most(place, factor):
    good, spilled = (
        estimator(*once_spilled(6, wrong, place)).forecast("bloom", "base", TILE_MM2).median
        for wrong in (1, factor)
    )

    assert abs(log(spilled / good)) < log(1.1)
    assert log(factor) / 6 > log(1.19)  # what a mean of all six would move by


@pytest.mark.parametrize("factor", [3, 10, 1000, 0.01])
def test_the_worse_the_slip_the_less_it_is_believed(factor):
    logged = once_spilled(10, factor, 4)
    asked = estimator(*logged)
    clean = estimator(*logged[:4], *logged[5:]).forecast("bloom", "base", TILE_MM2)
    trust = {one.observation: one.trust for one in asked.why("bloom", "base", TILE_MM2, top=200)}

    forecast = asked.forecast("bloom", "base", TILE_MM2)

    assert abs(log(forecast.median / clean.median)) < log(1.05)
    assert trust.pop(logged[4]) < 0.5
    assert all(share > 0.8 for share in trust.values())


@pytest.mark.parametrize(("pours", "most"), [(0, 1.6), (2, 1.34), (9, 1.05)])
def test_a_pour_ten_times_too_big_moves_the_next_by_less_than_a_third(practice, pours, most):
    # Of the first pour it cannot be told from a very heavy hand: it is asked about.
    usual = practice.forecast("bloom", "base", TILE_MM2).median
    logged = [own(usual * 1.1, key=key) for key in range(pours)]
    slip = own(usual * 11, key="slip")

    before = coverage.Estimator([*COMMON, *logged]).forecast("bloom", "base", TILE_MM2).median
    asked = coverage.Estimator([*COMMON, *logged, slip])

    assert asked.forecast("bloom", "base", TILE_MM2).median / before < most
    assert asked.slips()["slip"] > 0.5
    assert all(chance < 0.2 for key, chance in asked.slips().items() if key != "slip")


@pytest.mark.parametrize("hand", [0.6, 1.6])
def test_a_hand_of_its_own_is_no_slip(practice, hand):
    usual = practice.forecast("bloom", "base", TILE_MM2).median
    logged = [own(usual * hand * luck, key=str(luck)) for luck in (0.93, 1.0, 1.08)]

    asked = coverage.Estimator([*COMMON, *logged])

    assert all(chance < 0.25 for chance in asked.slips().values())
    found = asked.forecast("bloom", "base", TILE_MM2).median / usual
    assert log(found) == pytest.approx(log(hand), abs=0.15)


# What is shared.


def test_a_base_alone_says_something_of_the_colours(practice):
    usual = practice.forecasts("bloom", TILE_MM2)
    heavy = [own(1.6 * usual["base"].median, key=key) for key in range(5)]

    after = estimator(*heavy).forecasts("bloom", TILE_MM2)

    assert after["colours"].median > 1.1 * usual["colours"].median
    assert spread(after["base"]) < spread(after["colours"]) < spread(usual["colours"])


def test_the_order_of_pours_does_not_matter_beyond_the_fading():
    draw = np.random.default_rng(8)
    volumes = 24 * np.exp(draw.normal(0, 0.1, 8))
    forwards = [own(float(volume), key=key) for key, volume in enumerate(volumes)]
    backwards = [replace(one, key=9 - one.key) for one in reversed(forwards)]

    def asked(logged, **settings):
        found = coverage.Estimator([*COMMON, *logged], coverage.Settings(**settings))
        return found.forecast("bloom", "base", TILE_MM2).median

    # The same pours in another order: only what fades tells them apart.
    assert asked(forwards, fade_sd=1e-6) == pytest.approx(asked(backwards, fade_sd=1e-6), rel=1e-6)
    assert asked(forwards) == pytest.approx(asked(backwards), rel=0.03)


def test_no_number_of_pours_makes_a_forecast_jump():
    draw = np.random.default_rng(7)
    logged, answers = [], []
    for key in range(45):
        logged.append(own(float(24 * exp(draw.normal(0, 0.12))), key=key))
        asked = coverage.Estimator([*COMMON, *logged])
        forecast = asked.forecast("bloom", "base", 40 * TILE_MM2)  # of which nothing is learnt
        answers.append((log(forecast.median), log(forecast.width)))

    steps = np.abs(np.diff(answers, axis=0))[9:]
    assert steps.max() < 0.08
    assert steps.mean() < 0.02


# Answers.


def test_what_everybody_does_is_never_doubted():
    heavy = [own(24 * 3) for _ in range(8)]
    influences = estimator(*heavy).why("bloom", "base", TILE_MM2, top=200)

    assert all(one.trust == 1 for one in influences if not one.observation.own)


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
    assert len(everything) == len(COMMON) + 3


def test_a_table_has_the_same_answers_in_the_same_order():
    asked = estimator(own(25), own(300, CANVAS_MM2))
    lines = [
        coverage.Line(technique, area, count)
        for area, count in ((TILE_MM2, 1), (CANVAS_MM2, 3), (5e5, 2))
        for technique in coverage.TECHNIQUES
    ]

    table = asked.jobs(lines)

    for line, job in zip(lines, table, strict=True):
        alone = asked.job([line])
        assert job.means == pytest.approx(alone.means, abs=1e-9)
        assert job.covariance == pytest.approx(alone.covariance, abs=1e-9)
        assert [cell.layer for cell in job.cells] == [cell.layer for cell in alone.cells]
        assert job.asked == ((line.technique, line.count),)
    assert asked.jobs([]) == []


def test_lines_of_a_job_hang_together_by_the_hand(practice):
    lines = [coverage.Line("bloom", TILE_MM2, 4), coverage.Line("bloom", CANVAS_MM2)]
    together = practice.job(lines)
    one, other = (practice.job([line]) for line in lines)

    assert [together.layer("base", place).median for place in (0, 1)] == pytest.approx(
        [one.layer("base").median, other.layer("base").median]
    )
    total = together.total()
    assert one.total().median < total.median
    # Wider than if the two had nothing in common, narrower than if they were one.
    apart = sqrt(
        sum((part.total().median * spread(part.total())) ** 2 for part in (one, other))
    ) / (one.total().median + other.total().median)
    assert apart < spread(total) < max(spread(part.total()) for part in (one, other))
    assert together.enough() > one.enough() > 0.9


def careful(pours=30):
    """Pours of tiles and canvases with hardly any luck in them, beside common practice."""
    draw = np.random.default_rng(5)
    told = estimator()
    lines = [coverage.Line("bloom", TILE_MM2), coverage.Line("bloom", CANVAS_MM2)]
    forecasts = [told.job([line]).forecasts() for line in lines]
    return coverage.Estimator(
        [
            *COMMON,
            *(
                own(
                    forecasts[key % 2][layer].median * exp(draw.normal(0, 0.03)),
                    lines[key % 2].wetted_area_mm2,
                    layer=layer,
                    key=key,
                )
                for key in range(pours)
                for layer in ("base", "colours", "activator")
            ),
        ]
    )


@pytest.mark.parametrize("confidence", [0.8, 0.9, 0.95])
@pytest.mark.parametrize("practised", [False, True])
def test_what_will_do_keeps_the_promise_within_two_points(practice, practised, confidence):
    """Counted over many draws of the job's own Student distribution; one cup is of two lines."""
    lines = [coverage.Line("bloom", TILE_MM2, 4), coverage.Line("bloom", CANVAS_MM2)]
    job = (careful() if practised else practice).job(lines)
    apart = [(at, layer) for at in (0, 1) for layer in ("colours", "activator")]
    cups = [[(0, "base"), (1, "base")], *([one] for one in apart)]
    draw = np.random.default_rng(11)
    root = np.linalg.cholesky(job.covariance + 1e-12 * np.eye(len(job.cells)))
    scales = np.sqrt(job.freedom / draw.chisquare(job.freedom, 40_000))
    luck = draw.normal(size=(40_000, len(root))) @ root.T
    volumes = np.exp(job.means + scales[:, None] * luck)
    cells = [(cell.line, cell.layer) for cell in job.cells]
    poured = np.stack([volumes[:, [one in cup for one in cells]].sum(axis=1) for cup in cups], 1)

    ready = np.array(job.ready(confidence, cups))

    enough, will_do = ((poured <= ready[:, at]).all(axis=1).mean() for at in (0, 1))
    assert enough == pytest.approx(confidence, abs=0.02)
    assert 0 < enough - will_do < 0.03
    assert (ready[:, 1] >= 0.98 * ready[:, 0]).all() and (ready[:, 1] < ready[:, 0]).all()


def test_a_middle_size_poured_first_narrows_a_large_one(practice):
    line = coverage.Line("bloom", 560_000)
    before = practice.job([line]).total().width
    first = [coverage.Line("bloom", area) for area in (13_000, 210_000, 560_000)]

    small, middle, same = (practice.job([line, one]).once_poured().total().width for one in first)

    assert same < middle < small < before
    # As wide as it will be, but for what the pour then says of the scale.
    took = practice.job([first[1]]).forecasts()
    after = coverage.Estimator(
        [
            *COMMON,
            *(
                own(one.median, 210_000, layer=layer, key="first", side_share=0.0)
                for layer, one in took.items()
            ),
        ],
        coverage.Settings(),
    )
    assert log(after.job([line]).total().width) == pytest.approx(log(middle), rel=0.25)


def test_a_base_that_is_not_told_is_as_often_as_the_studio_pours_it():
    flooded = [
        coverage.Observation("ring-pour", layer, 93_000, ml, key=key)
        for key in range(8)
        for layer, ml in (("base", 240.0), ("colours", 30.0))
    ]
    asked = estimator(*flooded)

    base = asked.forecast("ring-pour", "base", 93_000)

    assert [part.chance for part in base.parts] == [0.1, 0.9]  # none and eight, each with one more
    assert base.median == pytest.approx(240, rel=0.15)
    told = asked.job([coverage.Line("ring-pour", 93_000, base="thin")]).layer("base")
    assert told.median < 0.5 * base.median


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
    assert spread(after) < spread(before)


def test_a_heavy_hand_shows_in_techniques_not_poured_yet(practice):
    logged = [
        own(1.4 * practice.forecast("blow-out", "base", area).median, area, "blow-out")
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

FORECAST = coverage.Forecast("bloom", 1, "base", (Part(1.0, 3.0, 0.2),), 6.0, False)


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
        (lambda e: e.job([coverage.Line("bloom", 1e4)]).enough(0.4), "chance of having enough"),
        (lambda e: e.job([coverage.Line("bloom", 1e4)]).enough(1), "chance of having enough"),
        (lambda e: coverage.enough_together(1, 0.5, 9, nan), "chance of having enough"),
        (lambda e: coverage.with_cup_loss(20, 1), "stays in cups"),
        (lambda e: coverage.with_cup_loss(20, -0.1), "stays in cups"),
        (lambda e: coverage.with_cup_loss(20, nan), "stays in cups"),
        (lambda e: coverage.Line("bloom", 1e4, base="thin"), "no “thin” base. Leave the base out"),
        (lambda e: coverage.Line("ring-pour", 1e4, base="wet"), "Its base is thin or flooded"),
        (lambda e: coverage.Line("bloom", 1e4, side_share=1.5), "lies between 0 and 1"),
        (lambda e: own(20, base="flooded"), "no “flooded” base"),
        (lambda e: own(20, side_share=nan), "lies between 0 and 1"),
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
