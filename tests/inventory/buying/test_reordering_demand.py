"""When to reorder: limits, scaling, which rule is used, and refusals in words."""

from decimal import Decimal

import numpy as np
import pytest

from inventory.buying.reordering import (
    DemandError,
    choose_reorder_point,
    order_up_to,
    reorder_point,
    reorder_point_intermittent,
    reorder_point_without_history,
    safety_stock,
)

LUMPY = [30.0, 45.0, 60.0, 118.0, 30.0, 15.0]


def test_even_odds_need_no_safety_stock():
    assert safety_stock(5, 0.5) == pytest.approx(0, abs=1e-12)


def test_certain_demand_and_lead_time_need_no_safety_stock():
    point = reorder_point(4, 0, 7, 0, 0.99)

    assert (point.quantity, point.safety_stock) == (28, 0)


def test_a_lead_time_that_varies_adds_its_variance():
    # sqrt(9 * 2^2 + 4^2 * 2^2) = 10
    point = reorder_point(4, 2, 9, 2, 0.95)

    assert point.safety_stock == pytest.approx(safety_stock(10, 0.95))
    assert point.quantity == pytest.approx(36 + safety_stock(10, 0.95))


def test_points_scale_with_the_unit():
    in_ml = reorder_point_intermittent(LUMPY, 60, 7, 0.95).quantity
    in_l = reorder_point_intermittent([use / 1000 for use in LUMPY], 60, 7, 0.95).quantity

    assert in_ml == pytest.approx(1000 * in_l, rel=1e-6)


def test_intermittent_point_covers_the_asked_share_of_simulated_lead_times():
    """The second way: a hundred thousand lead times drawn at random."""
    random = np.random.default_rng(7)
    counts = random.poisson(6 / 60 * 14, 100_000)
    lead_times = np.repeat(np.arange(len(counts)), counts)
    demand = np.bincount(lead_times, random.choice(LUMPY, counts.sum()), minlength=len(counts))
    point = reorder_point_intermittent(LUMPY, 60, 14, 0.95).quantity

    assert np.mean(demand <= point + 0.5) >= 0.947
    assert np.mean(demand <= point - 3) < 0.953


def test_intermittent_mean_is_that_of_the_uses():
    point = reorder_point_intermittent(LUMPY, 60, 14, 0.95)

    assert point.lead_time_demand == pytest.approx(sum(LUMPY) / 60 * 14)
    assert point.mean_per_day == pytest.approx(sum(LUMPY) / 60)
    assert point.quantity == pytest.approx(point.lead_time_demand + point.safety_stock)


def test_a_rare_use_still_keeps_one_usual_use():
    # A use every 300 days and 2 days of lead time: the quantile alone is zero.
    assert reorder_point_intermittent([40, 50, 60], 900, 2, 0.95).quantity == 50


def test_point_rises_with_service_level_and_lead_time():
    levels = [reorder_point_intermittent(LUMPY, 60, 14, s).quantity for s in (0.6, 0.9, 0.99)]
    leads = [reorder_point_intermittent(LUMPY, 60, days, 0.95).quantity for days in (2, 14, 60)]

    assert levels == sorted(levels) and levels[0] < levels[-1]
    assert leads == sorted(leads) and leads[0] < leads[-1]


def test_the_rule_follows_the_history_and_says_so():
    none = choose_reorder_point([30, 40], 90, 7, 0.95, pack_size=240, planned_use=10)
    rare = choose_reorder_point(LUMPY, 60, 7, 0.95)
    steady = choose_reorder_point([10, 12, 9, 11, 10, 8, 10], 7, 7, 0.95)

    assert [point.basis for point in (none, rare, steady)] == [
        "no_history",
        "intermittent",
        "normal",
    ]
    assert none.quantity == 60
    assert steady.mean_per_day == 10


def test_without_history_accepted_work_is_kept_at_least():
    assert reorder_point_without_history(240, 7, planned_use=100).quantity == 100


def test_stock_quantity_is_rounded_up_at_four_places():
    assert reorder_point(1 / 3, 0, 1, 0, 0.9).stock_quantity == Decimal("0.3334")
    assert reorder_point(0.1, 0, 3, 0, 0.9).stock_quantity == Decimal("0.3000")


def test_order_reaches_the_target_only():
    order = order_up_to(Decimal(40), Decimal(60), 5.0, 14)

    assert (order.due, order.target, order.quantity) == (True, Decimal(130), Decimal(90))


def test_projected_stock_below_zero_is_ordered_too():
    assert order_up_to(Decimal(-25), Decimal(60), 0.0, 0).quantity == Decimal(85)


def test_plenty_in_stock_orders_nothing():
    order = order_up_to(Decimal(500), Decimal(60), 5.0, 14)

    assert (order.due, order.quantity) == (False, 0)


@pytest.mark.parametrize("level", [0.49, 1.0, 95, float("nan")])
def test_service_levels_out_of_range_are_refused(level):
    with pytest.raises(DemandError, match="from 50 % to below 100 %"):
        reorder_point(1, 1, 1, 0, level)


def test_negative_and_endless_amounts_are_refused_by_name():
    with pytest.raises(DemandError, match="Lead days must be zero or more"):
        reorder_point(1, 1, -1, 0, 0.9)
    with pytest.raises(DemandError, match="Mean per day must be zero or more"):
        reorder_point(float("inf"), 1, 1, 0, 0.9)


@pytest.mark.parametrize(("uses", "days"), [([], 30), ([1, 0], 30), ([1], 0)])
def test_intermittent_needs_a_use_and_a_period(uses, days):
    with pytest.raises(DemandError, match="at least one use"):
        reorder_point_intermittent(uses, days, 7, 0.9)
