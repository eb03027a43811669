"""How use is classed, and what quoted work adds: by hand, at the limits, and a second way."""

from math import sqrt

import numpy as np
import pytest
from scipy import stats

from inventory.buying.reordering import (
    Chance,
    DemandError,
    choose_reorder_point,
    expected_of,
    pattern,
    reorder_point,
    reorder_point_intermittent,
    safety_stock,
    share_from_record,
)

QUOTES = [Chance(100, 0.6), Chance(40, 0.25)]


def test_a_pattern_by_hand():
    """Uses of 2, 4 and 12 in ten days: the mean day is 1.8 and its square 16.4, so the variance is
    16.4 - 3.24; the mean use is 6 with a variance of 56/3."""
    found = pattern([2, 4, 12], 10)

    assert (found.uses, found.mean_per_day, found.mean_use) == (3, 1.8, 6)
    assert found.days_between == pytest.approx(10 / 3)
    assert found.sd_per_day == pytest.approx(sqrt(16.4 - 3.24))
    assert found.variation == pytest.approx(56 / 3 / 36)
    assert found.kind == "lumpy"


@pytest.mark.parametrize(
    ("uses", "days", "kind"),
    [
        ([10, 11, 9, 10], 4, "smooth"),
        ([10, 11, 9, 10], 40, "intermittent"),
        ([1, 1, 1, 40], 4, "erratic"),
        ([1, 1, 1, 40], 40, "lumpy"),
        ([10, 11], 4, "unknown"),
        ([], 90, "unknown"),
        # One use in 1.32 days is the last that is not intermittent: 100 uses in 132 days.
        ([10] * 100, 132, "smooth"),
        ([10] * 100, 133, "intermittent"),
        # 3 and 17: mean 10, variance 49, so CV squared is 0.49 exactly; 17.1 is beyond.
        ([3, 17] * 2, 4, "smooth"),
        ([2.9, 17.1] * 2, 4, "erratic"),
    ],
)
def test_classes_follow_the_published_cut_offs(uses, days, kind):
    """Syntetos, Boylan and Croston, J. Oper. Res. Soc. 56 (2005) 495-503: 1.32 and 0.49."""
    assert pattern(uses, days).kind == kind


def test_without_use_nothing_is_used():
    found = pattern([], 90)

    assert (found.mean_per_day, found.sd_per_day, found.uses) == (0, 0, 0)


def test_uses_of_nothing_are_refused():
    with pytest.raises(DemandError, match="more than zero each"):
        pattern([1, 0], 10)


def test_expected_demand_of_quotes_by_hand():
    """0.6 x 100 + 0.25 x 40 = 70; 0.24 x 10,000 + 0.1875 x 1,600 = 2,700."""
    assert expected_of(QUOTES) == pytest.approx((70, sqrt(2700)))
    assert expected_of([]) == (0, 0)
    assert expected_of([Chance(50, 1)]) == (50, 0)


def test_the_share_is_the_mean_of_the_posterior():
    for successes, trials in [(0, 0), (0, 5), (3, 4), (7, 9)]:
        posterior = stats.beta(0.5 + successes, 0.5 + trials - successes)
        assert share_from_record(successes, trials) == pytest.approx(posterior.mean())


@pytest.mark.parametrize(("successes", "trials"), [(2, 1), (-1, 3)])
def test_more_successes_than_trials_are_refused(successes, trials):
    with pytest.raises(DemandError, match="no more than the trials"):
        share_from_record(successes, trials)


def test_a_chance_beyond_one_is_refused():
    with pytest.raises(DemandError, match="from 0 to 1"):
        expected_of([Chance(10, 1.2)])


def test_steady_use_and_quotes_add_their_means_and_variances():
    # Nine days of 4 give or take 2: 36 and a variance of 36; the quotes add 70 and 2,700.
    point = reorder_point(4, 2, 9, 0, 0.95, QUOTES)

    assert (point.lead_time_demand, point.quoted) == (36, 70)
    assert point.safety_stock == pytest.approx(safety_stock(sqrt(2736), 0.95))
    assert point.quantity == pytest.approx(106 + point.safety_stock)


def test_quotes_join_intermittent_use_exactly():
    """The second way: the Poisson sum of items and each quote convolved item by item."""
    uses, days, lead = [1, 2, 2, 5], 40, 12
    sizes = np.zeros(6)
    sizes[[1, 2, 5]] = 1 / 4, 2 / 4, 1 / 4
    total, power = np.zeros(400), np.array([1.0])
    for count in range(40):
        total[: len(power)] += stats.poisson.pmf(count, 4 / days * lead) * power
        power = np.convolve(power, sizes)
    for quantity, chance in ((6, 0.6), (4, 0.25)):
        one = np.zeros(quantity + 1)
        one[0], one[quantity] = 1 - chance, chance
        total = np.convolve(total, one)
    reached = np.cumsum(total)

    for level in (0.6, 0.8, 0.9, 0.95, 0.99):
        point = reorder_point_intermittent(
            uses, days, lead, level, chances=[Chance(6, 0.6), Chance(4, 0.25)]
        )
        assert point.quantity == np.argmax(reached >= level), level
        assert point.lead_time_demand + point.quoted + point.safety_stock == point.quantity


def test_without_history_the_mean_of_the_quotes_is_added():
    point = choose_reorder_point([], 30, 7, 0.95, pack_size=240, chances=QUOTES)

    assert (point.basis, point.quantity, point.quoted) == ("no_history", 130, 70)


@pytest.mark.parametrize("uses", [[30, 45, 60], [10.0] * 30])
def test_a_quote_that_cannot_come_changes_nothing(uses):
    without = choose_reorder_point(uses, 30, 7, 0.95)

    assert choose_reorder_point(uses, 30, 7, 0.95, chances=[Chance(500, 0)]).quantity == (
        pytest.approx(without.quantity, rel=2e-3)  # on a coarser grid
    )
