"""Reorder points and pack covering against published examples and reference libraries."""

from decimal import Decimal
from itertools import product

import pytest
from scipy import stats
from stockpyl import loss_functions, newsvendor, rq

from inventory.buying.reordering import (
    MaterialNeed,
    PackOffer,
    SupplierTerms,
    plan,
    reorder_point,
    reorder_point_intermittent,
    safety_stock,
)


def test_stevenson_safety_stock_and_reorder_point():
    """W. J. Stevenson, *Operations Management*, 14th ed., p. 528, Example 8.

    Demand over the lead time is 50 with a deviation of 5, risk 3 %: 59.40 with z from a table.
    """
    point = reorder_point(50, 5, 1, 0, 0.97)

    assert safety_stock(5, 0.97) == pytest.approx(9.40, abs=0.01)
    assert point.quantity == pytest.approx(59.40, abs=0.01)
    assert point.quantity == pytest.approx(59.40397, abs=1e-5)


def test_stevenson_two_weeks_of_lead_time():
    """The same, Example 9: 50 a week, deviation 3, two weeks, risk 10 % (answer from memory)."""
    assert reorder_point(50, 3, 2, 0, 0.90).quantity == pytest.approx(105.43716, abs=1e-5)


def test_heizer_and_render_safety_stock():
    """Heizer and Render, *Operations Management* (from memory): 366.5 with z = 1.65."""
    point = reorder_point(350, 10, 1, 0, 0.95)

    assert point.quantity == pytest.approx(366.5, abs=0.06)
    assert point.safety_stock == pytest.approx(16.4485, abs=1e-4)


@pytest.mark.parametrize("level", [0.90, 0.95, 0.97, 0.975, 0.98, 0.99, 0.995, 0.999])
def test_safety_factor_is_the_normal_quantile(level):
    assert safety_stock(1, level) == pytest.approx(stats.norm.ppf(level), abs=1e-9)


def test_expected_shortage_at_the_safety_factor_is_the_standard_normal_loss():
    """L(1.3) = 0.0455279621: what stockpyl says is short on average when 1.3 deviations are kept.

    The reorder point at the service level Phi(1.3) is put through the loss function of the library,
    and must give the published loss of the standard normal.
    """
    point = reorder_point(15, 3, 1, 0, stats.norm.cdf(1.3))
    short, over = loss_functions.normal_loss(point.quantity, 15, 3)

    assert short / 3 == pytest.approx(0.0455279621, abs=1e-10)
    assert over / 3 == pytest.approx(1.3455279621, abs=1e-10)


def test_normal_loss_at_a_published_point():
    """Loss of N(15, 3) at 18.6 is 0.1683073522 (stockpyl): z = 1.2, service level Phi(1.2)."""
    point = reorder_point(15, 3, 1, 0, stats.norm.cdf(1.2))

    assert point.quantity == pytest.approx(18.6, abs=1e-9)
    assert loss_functions.normal_loss(point.quantity, 15, 3)[0] == pytest.approx(0.1683073522)


def test_snyder_and_shen_reorder_point_beside_the_library():
    """L. V. Snyder and Z.-J. M. Shen, *Fundamentals of Supply Chain Theory*, 2nd ed., Example 5.1.

    1,300 a year give or take 150, a lead time of a twelfth of a year, and the service level that
    costs of 7.50 a shortage and 0.225 a holding set: 190.3369966 by stockpyl.
    """
    theirs, _ = rq.r_q_eoqss_approximation(0.225, 7.5, 8, 1300, 150, 1 / 12)
    point = reorder_point(1300, 150, 1 / 12, 0, 7.5 / 7.725)

    assert theirs == pytest.approx(190.3369966, abs=1e-6)
    assert point.quantity == pytest.approx(theirs, rel=1e-9)


def test_snyder_and_shen_base_stock_over_a_lead_time():
    """The same, Example 4.4: N(50, 8) a period, a lead time of four and one to review."""
    theirs, _ = newsvendor.newsvendor_normal(0.18, 0.70, 50, 8, lead_time=4)
    point = reorder_point(50, 8, 5, 0, 0.70 / 0.88)

    assert theirs == pytest.approx(264.7668943742)
    assert point.quantity == pytest.approx(theirs, rel=1e-9)


@pytest.mark.parametrize(
    ("mean", "holding", "shortage", "expected"), [(50, 0.18, 0.70, 56), (6, 1, 4, 8)]
)
def test_single_items_beside_the_library(mean, holding, shortage, expected):
    """Poisson demand of 50 and of 6: 56 and 8, by stockpyl and by trying every quantity."""
    theirs, _ = newsvendor.newsvendor_poisson(holding, shortage, mean)
    level = shortage / (shortage + holding)

    assert theirs == expected
    assert reorder_point_intermittent([1] * 30, 30, mean, level).quantity == expected


@pytest.mark.parametrize("mean", [0.3, 1, 5, 15, 40, 900])
@pytest.mark.parametrize("level", [0.5, 0.9, 0.95, 0.99])
def test_single_items_at_a_steady_rate_follow_the_poisson_quantile(mean, level):
    point = reorder_point_intermittent([1] * 30, 30, mean, level)

    assert point.quantity == max(1, stats.poisson.ppf(level, mean))


def test_poisson_loss_at_the_reorder_point():
    """Loss of Poisson 15 at 18 is 0.5176095283 (stockpyl): the point at its service level there."""
    level = stats.poisson.cdf(18, 15)
    point = reorder_point_intermittent([1] * 30, 30, 15, level)

    assert point.quantity == 18
    assert loss_functions.poisson_loss(point.quantity, 15)[0] == pytest.approx(0.5176095283)


@pytest.mark.parametrize("level", [0.8, 0.95, 0.99])
def test_a_lead_time_that_varies_gives_the_negative_binomial(level):
    """A Poisson count over a gamma time is negative binomial: shape (L/s)^2, scipy's quantile."""
    shape = (10 / 4) ** 2
    point = reorder_point_intermittent([1] * 30, 30, 10, level, lead_sd_days=4)

    assert point.quantity == stats.nbinom.ppf(level, shape, shape / (shape + 10))


# Pack sizes and prices in cents; optimum counted by trying every combination.
COVERING = [
    ([(60, 450), (120, 750), (250, 1300), (500, 2200), (1000, 3800)], 870, (0, 0, 0, 0, 1), 3800),
    ([(60, 450), (120, 750), (250, 1300), (500, 2200), (1000, 3800)], 310, (1, 0, 1, 0, 0), 1750),
    ([(3, 30), (5, 48), (8, 75)], 11, (1, 0, 1), 105),
    ([(6, 7), (9, 10), (20, 22)], 43, (1, 2, 1), 49),
    ([(2, 20), (16, 110), (32, 190), (128, 640)], 150, (3, 1, 0, 1), 810),
    ([(5, 50), (6, 59)], 14, (3, 0), 150),
]


@pytest.mark.parametrize(("packs", "need", "counts", "cost"), COVERING)
def test_packs_cover_a_need_for_the_least(packs, need, counts, cost):
    offers = [PackOffer("paint", size, "shop", Decimal(size), price) for size, price in packs]
    bought = plan([MaterialNeed("paint", Decimal(need))], offers, [SupplierTerms("shop")])
    by_size = {line.pack: line.count for line in bought.lines}

    assert tuple(by_size.get(size, 0) for size, _ in packs) == counts
    assert bought.total == cost
    assert bought.proven


def test_totals_that_6_9_and_20_cannot_make_are_covered_by_the_next_that_can():
    """The 22 gaps of 6, 9 and 20, of which 43 is the largest (its Frobenius number).

    At a price equal to its size a pack costs what it brings, so the least cost of a need is the
    smallest total that can be made.
    """
    offers = [PackOffer("paint", size, "shop", Decimal(size), size) for size in (6, 9, 20)]
    sums = {6 * a + 9 * b + 20 * c for a, b, c in product(range(12), range(8), range(4))}
    gaps = [n for n in range(1, 50) if n not in sums]

    assert gaps == [*range(1, 6), 7, 8, 10, 11, 13, 14, 16, 17, 19, 22, 23, 25, 28, 31, 34, 37, 43]
    for need in range(1, 50):
        bought = plan([MaterialNeed("paint", Decimal(need))], offers, [SupplierTerms("shop")])
        assert bought.total == min(total for total in sums if total >= need), need
