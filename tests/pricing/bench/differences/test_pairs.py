"""The paired test: its odds and its evidence, held against scipy and against luck itself."""

from fractions import Fraction
from itertools import product

import numpy as np
import pytest
from scipy.stats import binom, binomtest

from pricing.bench.differences import chance_told, evidence, is_told, needed, odds, stake

PAIRS = 10


@pytest.mark.parametrize("decided", range(1, 15))
def test_the_odds_are_those_of_the_sign_test(decided):
    for better in range(decided + 1):
        expected = binomtest(better, decided, 0.5, alternative="greater").pvalue
        assert float(odds(better, decided)) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize(("better", "decided"), [(-1, 4), (5, 4)])
def test_more_than_all_or_fewer_than_none_is_refused(better, decided):
    with pytest.raises(ValueError, match="none to all"):
        odds(better, decided)


def test_what_is_held_is_worth_one_on_average_if_nothing_is_in_it():
    """A fair bet: after so many tosses of a coin the mean over all courses is 1, exactly."""
    for pairs in range(8):
        courses = product((1, 0), repeat=pairs)
        mean = sum(
            (evidence(sum(one), pairs - sum(one)) for one in courses), Fraction(0)
        ) / Fraction(2**pairs)
        assert mean == 1


def test_a_year_uses_up_no_more_than_is_allowed():
    """Ville: no change may be told with a chance above its stake in a twentieth; 0.75 in all."""
    whole = sum(stake(place) for place in range(1, 60))
    assert Fraction(74, 100) < whole < Fraction(3, 4)
    assert all(1 / needed(place) == stake(place) / 20 for place in (1, 2, 5))


def test_the_line_is_crossed_by_seven_in_a_row_or_nine_of_ten():
    """By hand: 1.8^7 = 61.2 and 1.8^9 × 0.2 = 39.7 lie above 20 / 0.52 = 38.5, 1.8^6 = 34.0 not."""
    for lost in range(7):
        ten = [1] * 10
        ten[lost] = -1
        assert is_told(ten, 1)
        assert not is_told(ten[:9], 1)
    assert is_told([1] * 7 + [-1] * 9, 1)  # told once is told
    assert not is_told([1] * 6, 1)
    assert is_told([1, 0] * 7, 1)  # those alike say nothing
    assert not is_told([-1] * 50, 1)


@pytest.mark.parametrize("place", (1, 2, 3))
@pytest.mark.parametrize("share", (0.5, 0.75, 0.9))
def test_the_chance_is_found_by_walking_every_course(place, share):
    """A second way: all 1024 courses of ten pairs, one by one."""
    told = 0.0
    for course in product((1, -1), repeat=PAIRS):
        if is_told(course, place):
            won = course.count(1)
            told += share**won * (1 - share) ** (PAIRS - won)
    assert chance_told(share, PAIRS, place) == pytest.approx(told, abs=1e-12)


def test_luck_is_seldom_told_and_a_strong_change_mostly_within_ten_pairs():
    """Looking after every pair: under 1 in 20 for a change of nothing, however long it goes on."""
    assert sum(chance_told(0.5, 60, place) for place in (1, 2, 3, 4)) < 0.75 / 20
    assert chance_told(0.9, PAIRS) > 0.7
    assert chance_told(0.95, PAIRS) > 0.9


def test_studios_that_test_all_year_are_seldom_told_of_nothing_and_mostly_of_something():
    """2,000 studios; tiles rated 1 to 5 share the luck of their pour, and the hand drifts.

    Made without the bet: ratings are rounded, so that some pairs are alike. Each studio tests four
    changes a year of ten pairs each. At most 1 in 20 may be told; the bound adds the 99.9 % point
    of the binomial, so that a chance of exactly 1 in 20 fails once in a thousand seeds.
    """
    dice = np.random.default_rng(20_261_130)
    studios, changes = 2000, 4
    shape = (studios, changes, PAIRS)
    pour = dice.normal(3, 0.8, shape) + np.linspace(-0.3, 0.3, PAIRS)
    tiles = [pour + dice.normal(0, 0.7, shape) for _ in range(2)]

    def told(effect):
        rated = [
            np.clip(np.rint(tile + up), 1, 5) for tile, up in zip(tiles, (effect, 0), strict=True)
        ]
        outcomes = np.sign(rated[0] - rated[1]).astype(int)
        return [
            [is_told(outcomes[one, place], place + 1) for place in range(changes)]
            for one in range(studios)
        ]

    of_nothing = sum(any(changes) for changes in told(0.0))
    assert of_nothing <= binom.ppf(0.999, studios, 1 / 20)
    assert of_nothing <= studios / 20  # seen with this seed
    first = sum(changes[0] for changes in told(1.8))
    assert first > studios / 2
