"""No warning fires on what the program itself recommends, and beyond it the film is judged."""

from dataclasses import replace
from functools import cache

import pytest

from pricing.estimating import coverage
from pricing.estimating.enough import MixingRules, needed_for_job
from pricing.estimating.judgement import judge_amounts
from pricing.estimating.layers import line_of
from pricing.estimating.sessions import to_mix
from pricing.estimating.sizes import read_surface

KINDS = [(slug, base) for slug in coverage.TECHNIQUES for base in coverage.BASES_OF[slug] or ("",)]
SIZES = (
    "2x2in", "4x4x0.25in", "6x6x1.5in", "8x8x1.5in", "12x12x2in", "10 in round", "24x30in",
    "36x48x1.5in", "2x1m",
)  # fmt: skip  # a table of sizes
COUNTS = (1, 4, 60)


@cache
def estimator(hand):
    """A studio that pours so many times what is common, and has logged three of each kind."""
    practice = coverage.Estimator(coverage.common_practice(), coverage.Settings())
    if hand == 1:
        return practice
    small, large = read_surface("4x4x0.25in"), read_surface("12x12x1.5in")
    lines = [
        line_of(
            of, slug, base=base or coverage.BASES_OF[slug][0] if coverage.BASES_OF[slug] else ""
        )
        for slug, base in KINDS
        for of in (small, large)
    ]
    own = [
        coverage.Observation(
            line.technique,
            layer,
            line.wetted_area_mm2,
            hand * one.median,
            key=f"{place}-{time}",
            side_share=line.side_share,
            base=line.base,
        )
        for place, (line, job) in enumerate(zip(lines, practice.jobs(lines), strict=True))
        for time in range(3)
        for layer, one in job.forecasts().items()
    ]
    return coverage.Estimator([*coverage.common_practice(), *own], coverage.Settings())


@cache
def recommended(hand, measures):
    """(surface, technique, what is needed, per piece: the medians and what to mix) of all kinds."""
    rules = MixingRules(measures)
    asked = [
        (read_surface(size), line_of(read_surface(size), slug, count, base))
        for slug, base in KINDS
        for size in SIZES
        for count in COUNTS
    ]
    # A base that is not told, too.
    asked += [(surface, replace(line, base="")) for surface, line in asked if line.base]
    jobs = estimator(hand).jobs([line for _, line in asked])
    rows = []
    for (surface, line), job in zip(asked, jobs, strict=True):
        (needed,) = needed_for_job(job, [None], rules)
        median = {one.layer: one.forecast.median / line.count for one in needed.layers}
        mixed = {
            one.layer: float(to_mix(one.needed_ml, measures, one.least_ml)[0]) / line.count
            for one in needed.layers
        }
        rows.append((surface, line, needed, median, mixed))
    return rules, rows


def judged(surface, line, needed, rules, poured, kept=0.0, medium="pouring"):
    shares = coverage.learn_fractions(line.technique, kept=[kept] * 10 if kept else ())
    on_piece = sum(poured.values()) * shares.on_piece
    return judge_amounts(poured, surface, needed, rules, on_piece, medium)


def warned(*args, **kwargs):
    return {one.code for one in judged(*args, **kwargs) if one.is_warning}


@pytest.mark.parametrize("measures", ["us", "metric"])
@pytest.mark.parametrize("hand", [0.4, 1, 2.2])
def test_no_warning_fires_on_what_is_recommended(hand, measures):
    rules, rows = recommended(hand, measures)
    for surface, line, needed, median, mixed in rows:
        total = needed.total.median / line.count / sum(median.values())
        for poured in (
            median,
            {layer: ml * total for layer, ml in median.items()},  # all paint's own middle
            mixed,
            {**median, "base": mixed["base"]},
            {**mixed, "base": median["base"]},
        ):
            for kept, medium in ((0.0, "pouring"), (0.02, "pouring"), (0.0, "ordinary")):
                found = warned(surface, line, needed, rules, poured, kept, medium)
                assert found == set(), (line, poured)


def test_what_is_recommended_of_wall_paint_is_told_its_limit_and_a_way_out():
    """1.5 mm (1/16 in) for paint without a pouring medium: paint makers' published guidance."""
    rules, rows = recommended(1, "us")
    told = {}
    for surface, line, needed, median, _ in rows:
        for medium in ("ordinary", "pouring"):
            found = judged(surface, line, needed, rules, median, medium=medium)
            told.setdefault(medium, []).extend(one for one in found if one.is_note)

    assert told["pouring"] == []
    assert told["ordinary"] and {one.limit for one in told["ordinary"]} == {1.5}
    assert all(
        one.computed >= 1.5 and "Let more run off" in one.sentence for one in told["ordinary"]
    )


def test_what_is_far_beyond_or_below_is_still_warned_of():
    rules, rows = recommended(1, "us")
    for surface, line, needed, _, mixed in rows:
        face, wetted = surface.top_area_mm2, surface.wetted_area_mm2
        flood, film = ({"base": ml / 2, "colours": ml / 2} for ml in (face / 20, wetted / 2000))
        if sum(flood.values()) > 1.2 * (mixed["base"] + mixed["colours"]):  # 50 mm of it
            assert "crazing" in warned(surface, line, needed, rules, flood)
            assert "crazing" in warned(surface, line, needed, rules, flood, medium="ordinary")
        assert warned(surface, line, needed, rules, film) == {"short-of-sides"}, line
    (bloom,) = (
        row
        for row in rows
        if row[1].technique == "bloom" and row[1].count == 1 and row[0] == read_surface("8x8x1.5in")
    )
    surface, line, needed, median, _ = bloom
    thin = {**median, "colours": 0.05 * median["base"]}
    assert "thin-colours" in warned(surface, line, needed, rules, thin)


@pytest.mark.parametrize("technique", coverage.TECHNIQUES)
def test_who_never_scrapes_loses_all_that_runs_off(technique):
    """The whole of common practice's run-off; thick films show that still more must have gone."""
    common = coverage.learn_fractions(technique)
    never = [coverage.shed(technique, 0.0, 2.0) for _ in range(30)]
    thick = [coverage.shed(technique, 0.0, 30.0) for _ in range(30)]

    thin, shed = (
        coverage.learn_fractions(technique, [kept for kept, _ in some], [lost for _, lost in some])
        for some in (never, thick)
    )

    assert thin.kept < 0.15 * common.kept + 0.001
    assert thin.on_piece == pytest.approx(common.on_piece)
    assert shed.on_piece < 0.2  # a tenth of 30 mm stays
    assert common.is_guess and thin.is_guess and shed.is_guess
    scraped = coverage.learn_fractions(technique, [0.3] * 12, [0.15] * 12)
    assert not scraped.is_guess
