"""A plan within a budget: what it covers and costs equal a trial of every basket."""

from dataclasses import replace
from decimal import Decimal
from itertools import product
from math import inf

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.reordering import Need, Offer, PlanProblem, PriceBreak, Supplier, plan
from inventory.reordering import planning as planning_module
from inventory.reordering.solving import Solution
from tests.inventory.markets import TODAY, brute_force, day, random_market

D = Decimal
WHITE = [Offer("white", size, "shop", D(size), price) for size, price in [(120, 750), (250, 1300)]]
SHOP = Supplier("shop")


def most_pressing_first(needs, offers, suppliers, budget):
    """Return the needs that a budget covers, and their least cost, by trying every set of them."""
    order = sorted(needs, key=lambda need: (need.needed_by or day(999), need.rank))
    sets = sorted(product((True, False), repeat=len(order)), reverse=True)  # lexicographic
    for chosen in sets:
        kept = [need for need, is_kept in zip(order, chosen, strict=True) if is_kept]
        cost = brute_force(kept, offers, suppliers)[0] if kept else 0
        if cost <= budget:
            return kept, cost
    raise AssertionError


@given(st.integers(0, 10**6), st.floats(0.2, 0.999))
@settings(max_examples=8, deadline=None, derandomize=True)
def test_a_plan_within_a_budget_equals_brute_force(seed, share):
    needs, offers, suppliers = random_market(seed)
    needs = [replace(need, rank=place) for place, need in enumerate(needs)]
    whole, _ = brute_force(needs, offers, suppliers)
    if whole == inf:
        return
    budget = int(whole * share)
    kept, cost = most_pressing_first(needs, offers, suppliers, budget)
    if not kept:
        with pytest.raises(PlanProblem, match="covers nothing"):
            plan(needs, offers, suppliers, budget, today=TODAY)
        return

    bought = plan(needs, offers, suppliers, budget, today=TODAY)

    assert sorted(need.rank for need in bought.left_out.needs) == sorted(
        need.rank for need in needs if need not in kept
    )
    assert bought.total == cost <= budget
    assert bought.left_out.all_total == whole
    first, *_ = bought.left_out.needs
    assert bought.left_out.next_total == brute_force([*kept, first], offers, suppliers)[0] > budget
    assert bought.proven and bought.left_out.proven and bought.left_out.least_proven


@pytest.fixture
def market():
    offers = [
        *WHITE,
        Offer("blue", "b", "shop", D(100), 400),
        Offer("gold", "b", "shop", D(9), 900),
    ]
    needs = [Need("white", D(100), day(5)), Need("blue", D(100), day(9)), Need("gold", D(9))]
    return needs, offers, [SHOP]


def test_a_budget_covers_what_is_needed_first(market):
    bought = plan(*market, 1200, today=TODAY)

    # White is 7.50, blue 4.00 and gold 9.00: 20.50 together.
    assert [line.material for line in bought.lines] == ["blue", "white"]
    assert (bought.total, bought.left_out.all_total) == (1150, 2050)
    assert [need.material for need in bought.left_out.needs] == ["gold"]
    assert plan(*market, 2050, today=TODAY).left_out is None


def test_what_money_is_left_over_goes_to_the_next_need_that_fits(market):
    bought = plan(*market, 1000, today=TODAY)

    # White at 7.50 leaves no money for blue; without a date, gold does not displace it.
    assert [line.material for line in bought.lines] == ["white"]
    assert [need.material for need in bought.left_out.needs] == ["blue", "gold"]
    assert bought.left_out.next_total == 1150


def test_of_needs_without_a_date_the_lower_rank_goes_first():
    needs = [Need("white", D(100), rank=3), Need("blue", D(100), rank=2)]
    offers = [*WHITE, Offer("blue", "b", "shop", D(100), 400)]

    assert [line.material for line in plan(needs, offers, [SHOP], 800).lines] == ["blue"]


def test_a_break_can_bring_a_need_within_the_budget():
    needs = [Need("white", D(100), rank=1), Need("white", D(200), rank=2)]
    dear = Offer("white", "b", "shop", D(100), 500)
    broken = replace(dear, price_breaks=(PriceBreak(3, 400),))

    assert plan(needs, [dear], [SHOP], 1200).left_out.needs == (needs[1],)
    assert plan(needs, [broken], [SHOP], 1200).left_out is None


def test_a_least_order_out_of_reach_leaves_out_what_is_sold_there():
    offers = [WHITE[0], Offer("blue", "b", "far", D(100), 400)]
    needs = [Need("blue", D(100), day(9)), Need("white", D(100))]
    bought = plan(needs, offers, [SHOP, Supplier("far", minimum_order=2000)], 1500, today=TODAY)

    assert [line.material for line in bought.lines] == ["white"]
    assert bought.left_out.next_total == 2750  # five blue for the least order of 20.00, and white


def test_a_budget_that_covers_nothing_says_what_is_nearest(market):
    with pytest.raises(PlanProblem) as refusal:
        plan(*market, 399, today=TODAY)

    assert str(refusal.value) == (
        "The budget of 3.99 covers nothing. The least that it could buy, 100 of blue, takes 4.00 "
        "delivered; the least that covers everything is 20.50."
    )
    assert (refusal.value.code, refusal.value.least) == ("over_budget", 400)


def test_out_of_time_a_budget_is_kept_and_nothing_claimed(market, monkeypatch):
    monkeypatch.setattr(planning_module, "solve", lambda market, known, seconds: Solution(None, 0))
    bought = plan(*market, 1200, today=TODAY)

    assert bought.total <= 1200
    assert not bought.left_out.proven
