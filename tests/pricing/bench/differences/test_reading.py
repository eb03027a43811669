"""Counts, silence, sceptical estimates; held against a grid, and against luck in whole years."""

from datetime import date, timedelta

import numpy as np
import pytest
from scipy.stats import binom, norm

from pricing.bench.differences import QUESTIONS, Seen, answers, estimate
from pricing.bench.differences.questions import trace_band
from pricing.bench.differences.reading import NONE_AT_ALL, REAL, SLIGHT, SPREAD, SPREAD_WEIGHT

DAY = date(2026, 3, 2)
HEAT = 3  # the place of the question about heat


def pour(number, good, judged=4, day=0, **told):
    return Seen(number, DAY + timedelta(days=day), good, judged, **told)


def heated(*goods, has_heat, days=(0, 1, 2)):
    return [
        pour(at, good, day=day, has_heat=has_heat)
        for at, (good, day) in enumerate(zip(goods, days, strict=True))
    ]


def test_the_questions_are_few_and_fixed():
    assert [one.name for one in QUESTIONS] == [
        *("Trace of the base", "Trace of the colours", "Blown, straw or dryer"),
        *("Torch or heat gun", "Rest before moving", "Cover while drying", "Room"),
    ]


def test_every_band_is_counted_and_what_is_not_known_is_told():
    rows = [pour(1, 3, base_trace=5), pour(2, 4, base_trace=4), pour(3, 2, 2, base_trace=6)]
    rows += [pour(4, 1, base_trace=3.9), pour(5, 0, base_trace=9), pour(6, 4)]

    trace = answers(rows)[0]

    assert [(one.band, one.good, one.judged, one.pours) for one in trace.bands] == [
        ("4–6 s", 9, 10, 3),
        ("under 4 s", 1, 4, 1),
        ("over 6 s", 0, 4, 1),
    ]
    assert trace.unknown == 1


@pytest.mark.parametrize(
    ("told", "place", "band"),
    [
        ({"moves": ["tilt"]}, 2, "without air"),
        ({"moves": []}, 2, "without air"),
        ({"moves": ["tilt", "straw"]}, 2, "with air"),
        ({"has_heat": False}, HEAT, "without heat"),
        ({"rest_minutes": 3}, 4, "3 minutes or more"),
        ({"rest_minutes": 0}, 4, "under 3 minutes"),
        ({"was_covered": False}, 5, "not covered"),
        ({"room_c": 19.9}, 6, "under 20 °C (68 °F)"),
    ],
)
def test_a_pour_lies_in_one_band_and_the_unknown_in_none(told, place, band):
    seen = pour(1, 2, **told)

    assert QUESTIONS[place].band(seen) == band
    assert [one.band(seen) for at, one in enumerate(QUESTIONS) if at != place] == [None] * 6
    assert trace_band(None) is None


@pytest.mark.parametrize(
    ("left", "right", "lacks"),
    [
        (heated(4, 4, has_heat=True, days=(0, 1)), heated(1, 1, 1, has_heat=False), (1, 0)),
        (heated(4, 4, 4, has_heat=True, days=(0, 0, 0)), heated(1, 1, 1, has_heat=False), (0, 1)),
    ],
)
def test_it_is_silent_below_three_pours_a_side_on_two_days(left, right, lacks):
    found = answers(left + right)[HEAT]

    assert (found.good, found.rated) == (None, None)
    assert found.lacks == (("with heat", *lacks),)


def test_pours_that_nobody_judged_do_not_count():
    rows = heated(4, 4, 4, has_heat=True) + heated(1, 1, 1, has_heat=False)
    wet = [pour(9, 0, judged=0, has_heat=True)]

    assert answers(rows + wet)[HEAT] == answers(rows)[HEAT]
    assert answers(rows)[HEAT].good is not None
    assert answers(rows)[HEAT].rated is None


def test_tiles_of_one_pour_are_no_witnesses_of_their_own():
    few = heated(4, 3, 4, has_heat=True) + heated(1, 2, 1, has_heat=False)
    many = [
        pour(
            one.number, one.good * 10, one.judged * 10, (one.day - DAY).days, has_heat=one.has_heat
        )
        for one in few
    ]

    assert answers(few)[HEAT].good == answers(many)[HEAT].good


def brute(first, second, asked):
    """Return (mean, 10 %, 90 %) of the difference: prior times likelihood, summed over a grid."""
    found = np.mean(first) - np.mean(second)
    squares = sum(np.sum((np.array(side) - np.mean(side)) ** 2) for side in (first, second))
    free = len(first) + len(second) - 2 + SPREAD_WEIGHT
    spread = (squares + SPREAD_WEIGHT * SPREAD**2) / free
    luck = np.sqrt(spread * (1 / len(first) + 1 / len(second)) * free / (free - 2))
    real = 1 - NONE_AT_ALL ** (1 / asked)
    x = np.linspace(-1.5, 1.5, 300_001)
    prior = (1 - real) * norm.pdf(x, 0, SLIGHT) + real * norm.pdf(x, 0, REAL)
    height = prior * norm.pdf(found, x, luck)
    below = np.cumsum(height) / height.sum()
    return (x * height).sum() / height.sum(), *np.interp((0.1, 0.9), below, x)


@pytest.mark.parametrize("asked", (1, 14, 56))
@pytest.mark.parametrize(
    ("first", "second"),
    [
        ([1, 0.75, 1], [0.25, 0.5, 0]),
        ([0.5, 0.75, 0.5, 1], [0.5, 0.5, 0.75]),
        ([1] * 12, [0.25] * 12),
        ([0.25] * 9, [0.75, 0.5, 1] * 3),
    ],
)
def test_the_estimate_is_what_a_grid_adds_up_to(first, second, asked):
    found = estimate(first, second, asked)

    expected = brute(first, second, asked)
    assert (found.middle, found.low, found.high) == pytest.approx(expected, abs=1e-4)


def test_the_more_is_asked_the_more_it_is_drawn_towards_nothing():
    first, second = [1, 1, 0.75, 1, 1, 1], [0.25, 0.5, 0.25, 0, 0.25, 0.5]

    middles = [estimate(first, second, asked).middle for asked in (1, 7, 14, 70)]

    assert middles == sorted(middles, reverse=True)
    assert 0 < middles[-1] < middles[0] < 0.77  # less than what was seen


def test_which_side_is_first_only_turns_the_sign():
    one, other = estimate([1, 1, 0.5], [0, 0.5, 0.5], 14), estimate([0, 0.5, 0.5], [1, 1, 0.5], 14)

    assert one.middle == pytest.approx(-other.middle)
    assert (one.low, one.high) == pytest.approx((-other.high, -other.low), abs=1e-6)


def test_fewer_than_two_pours_a_side_are_refused():
    with pytest.raises(ValueError, match="Two pours a side"):
        estimate([1], [0, 1], 14)


# Whole years, made without the model: shares of pours spread as a beta around the studio's own, so
# that tiles of a pour are alike; habits come in runs; it is looked at after every pour.

POURS, TILES = 40, (2, 6)


def a_year(dice, effect):
    """Return (shares of good pieces, sides of each question) of one studio's pours, in order."""
    usual, tightness = dice.uniform(0.45, 0.9), dice.uniform(1.5, 6)
    sides = dice.random((len(QUESTIONS), POURS)) < dice.uniform(0.3, 0.7, (len(QUESTIONS), 1))
    for side in sides[::2]:
        side[:] = np.repeat(dice.random(POURS // 4) < 0.5, 4)
    chance = np.clip(usual + effect * (sides[0] - 0.5), 0.03, 0.97)
    own = dice.beta(chance * tightness, (1 - chance) * tightness)
    tiles = dice.integers(*TILES, POURS, endpoint=True)
    return dice.binomial(tiles, own) / tiles, sides


def first_told(shares, side):
    """Return after how many pours a question is told of, or None.

    Only where the means lie 1.7 plain errors apart is the estimate asked: it takes more than that.
    """
    for seen in range(6, POURS + 1):
        left, right = shares[:seen][side[:seen]], shares[:seen][~side[:seen]]
        if min(len(left), len(right)) < 3:
            continue
        error = np.sqrt(max(shares[:seen].var(), 0.02) * (1 / len(left) + 1 / len(right)))
        if abs(left.mean() - right.mean()) < 1.7 * error:
            continue
        if estimate(left.tolist(), right.tolist(), 2 * len(QUESTIONS)).is_told:
            return seen
    return None


def test_studios_without_any_effect_are_seldom_told_of_one_in_a_year():
    """At most 1 in 20 may be; the bound is the 99.9 % point of the binomial for that chance."""
    dice = np.random.default_rng(20_261_201)
    studios = 120

    told = 0
    for _ in range(studios):
        shares, sides = a_year(dice, effect=0)
        told += any(first_told(shares, side) for side in sides)

    assert told <= binom.ppf(0.999, studios, 1 / 20)
    assert told <= studios / 20  # seen with this seed


def test_studios_with_a_strong_effect_are_mostly_told_of_it_in_a_year():
    dice = np.random.default_rng(20_261_202)
    studios = 40

    told = 0
    for _ in range(studios):
        shares, sides = a_year(dice, effect=0.5)
        told += first_told(shares, sides[0]) is not None

    assert told > studios / 2
