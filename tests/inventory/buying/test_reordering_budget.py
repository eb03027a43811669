"""A plan within a budget: what it covers and costs equal a trial of every basket."""

import random
from dataclasses import replace
from decimal import Decimal
from functools import partial
from itertools import product
from math import inf

import pytest

from inventory.buying.reordering import (
    MaterialNeed,
    PackOffer,
    PlanProblem,
    PriceBreak,
    SupplierTerms,
    Words,
    plan,
)
from inventory.buying.reordering import planning as planning_module
from inventory.buying.reordering.affording import afford
from inventory.buying.reordering.baskets import cheapest_packs
from inventory.buying.reordering.covering import sift
from inventory.buying.reordering.solving import Best, solve
from tests.inventory.buying.markets import (
    MOST_OF_A_TINY_OFFER,
    TODAY,
    brute_force,
    day,
    tiny_market,
)

D = Decimal
WHITE = [
    PackOffer("white", size, "shop", D(size), price) for size, price in [(120, 750), (250, 1300)]
]
SHOP = SupplierTerms("shop")


def most_pressing_first(needs, offers, suppliers, budget):
    """Return the needs that a budget covers, and their least cost, by trying every set of them."""
    order = sorted(needs, key=lambda need: (need.needed_by or day(999), need.rank))
    sets = sorted(product((True, False), repeat=len(order)), reverse=True)  # lexicographic
    for chosen in sets:
        kept = [need for need, is_kept in zip(order, chosen, strict=True) if is_kept]
        cost = least_cost(kept, offers, suppliers) if kept else 0
        if cost <= budget:
            return kept, cost
    raise AssertionError


def least_cost(needs, offers, suppliers):
    """Any offer may be bought, wanted or not."""
    return brute_force(needs, offers, suppliers, MOST_OF_A_TINY_OFFER + 1)[0]


def nothing_better(market, known, most_nodes):
    return Best(known, market.total(known), 0)


def ranks(needs):
    return sorted(need.rank for need in needs)


def markets(count):
    """Yield markets that somebody can serve: facts, least cost of all, and a budget below it."""
    for seed in range(count):
        facts = tiny_market(seed)
        whole = least_cost(*facts)
        if whole < inf:
            yield seed, facts, whole, int(whole * random.Random(seed).uniform(0.6, 0.999))


def test_what_a_budget_covers_equals_brute_force():
    """Among packs of all materials, which reach least orders and tiers of shipping together."""

    def least(market):
        found = solve(market, cheapest_packs(market))
        return found.total, found.bound

    for seed, (needs, offers, suppliers), _, budget in markets(200):
        kept, _ = most_pressing_first(needs, offers, suppliers, budget)
        market_of = partial(
            sift, offers=offers, suppliers=suppliers, today=TODAY, allow_late=False, words=Words()
        )

        found = afford(needs, budget, market_of, least)

        assert (ranks(found.covered), found.proven) == (ranks(kept), True), seed


def test_plans_within_a_budget_equal_brute_force():
    for seed, facts, whole, budget in markets(40):
        needs, offers, suppliers = facts
        kept, cost = most_pressing_first(*facts, budget)
        if not kept:
            with pytest.raises(PlanProblem, match="covers nothing"):
                plan(*facts, budget, today=TODAY)
            continue

        bought = plan(*facts, budget, today=TODAY)

        left_out = bought.left_out
        assert ranks(left_out.needs) == ranks(need for need in needs if need not in kept), seed
        assert (bought.total, left_out.all_total) == (cost, whole), seed
        beside = least_cost([*kept, left_out.needs[0]], offers, suppliers)
        assert left_out.next_total == beside > budget >= cost, seed
        assert bought.proven and left_out.proven and left_out.least_proven, seed


@pytest.mark.parametrize("nodes", (0, 1, 11))
def test_with_little_effort_what_is_called_proved_is_true(nodes):
    for seed, facts, whole, budget in markets(60):
        needs, offers, suppliers = facts
        kept, cost = most_pressing_first(*facts, budget)
        try:
            bought = plan(*facts, budget, most_nodes=nodes, today=TODAY)
        except PlanProblem as problem:
            least = min(least_cost([need], offers, suppliers) for need in needs)
            assert problem.least >= least, seed
            assert problem.least == least or "The least found that" in str(problem), seed
            continue
        left_out = bought.left_out
        if left_out is None:  # proved or not, it fits
            assert whole <= bought.total <= budget, seed
            continue
        took = [need for need in needs if need not in left_out.needs]
        if left_out.proven:
            assert ranks(took) == ranks(kept), seed
        if bought.proven:
            assert bought.total == least_cost(took, offers, suppliers), seed
        if left_out.least_proven:
            beside = least_cost([*took, left_out.needs[0]], offers, suppliers)
            assert (left_out.all_total, left_out.next_total) == (whole, beside), seed
        assert bought.total <= budget and (kept or not left_out.proven), seed
        assert cost <= budget, seed


def test_what_a_budget_cannot_buy_is_not_called_least_without_proof(monkeypatch):
    """Blue is 12.00 from the one, 10.00 from the other, whose least order the search must find."""
    offers = [PackOffer("blue", "b", "far", D(100), 400), PackOffer("gold", "b", "far", D(10), 300)]
    needs = [MaterialNeed("blue", D(100), day(9)), MaterialNeed("gold", D(50))]
    monkeypatch.setattr(planning_module, "solve", nothing_better)

    with pytest.raises(PlanProblem, match=r"The least found that it could buy, .* takes 12\.00"):
        plan(needs, offers, [SupplierTerms("far", minimum_order=1000)], 999, today=TODAY)


def test_a_least_order_is_reached_with_what_is_beyond_the_budget():
    """Three of blue are 12.00; one and two of gold are just the 10.00 that the order must reach."""
    offers = [PackOffer("blue", "b", "far", D(100), 400), PackOffer("gold", "b", "far", D(10), 300)]
    needs = [MaterialNeed("blue", D(100), day(9)), MaterialNeed("gold", D(50))]
    far = SupplierTerms("far", minimum_order=1000)
    bought = plan(needs, offers, [far], 1000, today=TODAY)

    assert [(line.material, line.count) for line in bought.lines] == [("blue", 1), ("gold", 2)]
    assert (bought.total, bought.left_out.all_total, bought.left_out.next_total) == (
        1000,
        1900,
        1900,
    )
    assert bought.left_out.needs == (needs[1],) and bought.left_out.proven
    assert bought.lines[1].needed_by is None
    assert bought.lines[1].why == (
        "This brings 20, bought because far takes orders from 10.00 on. "
        "The budget does not cover all that is needed of it."
    )
    with pytest.raises(PlanProblem, match=r"100 of blue, takes 10\.00 delivered"):
        plan(needs, offers, [far], 999, today=TODAY)


def test_shipping_is_lowered_with_what_is_beyond_the_budget():
    offers = [PackOffer("blue", "b", "far", D(100), 700), PackOffer("gold", "b", "far", D(10), 300)]
    needs = [MaterialNeed("blue", D(100), day(9)), MaterialNeed("gold", D(50))]
    far = SupplierTerms("far", shipping_fee=600, free_over=1000)
    bought = plan(needs, offers, [far], 1000, today=TODAY)

    assert [(line.material, line.count) for line in bought.lines] == [("blue", 1), ("gold", 1)]
    assert (bought.goods, bought.shipping) == (1000, 0)
    assert "bought because without it shipping costs 6.00." in bought.lines[1].why


def test_a_least_order_is_reached_with_what_comes_too_late():
    """Without a budget too: two of blue are 14.00, blue and a white that comes late are 10.00."""
    offers = [
        PackOffer("white", "b", "near", D(100), 500),
        PackOffer("white", "b", "far", D(100), 300),
        PackOffer("blue", "b", "far", D(100), 700),
    ]
    needs = [MaterialNeed("white", D(100), day(3)), MaterialNeed("blue", D(100), day(9))]
    suppliers = [SupplierTerms("near"), SupplierTerms("far", minimum_order=1000, lead_days=7)]
    bought = plan(needs, offers, suppliers, today=TODAY)

    assert [(line.supplier, line.material, line.count) for line in bought.lines] == [
        ("far", "blue", 1),
        ("far", "white", 1),
        ("near", "white", 1),
    ]
    assert bought.total == 1500 and bought.proven
    assert not any(line.late for line in bought.lines)
    assert bought.lines[1].why.endswith("It comes too late for what is needed.")


@pytest.fixture
def market():
    offers = [
        *WHITE,
        PackOffer("blue", "b", "shop", D(100), 400),
        PackOffer("gold", "b", "shop", D(9), 900),
    ]
    needs = [
        MaterialNeed("white", D(100), day(5)),
        MaterialNeed("blue", D(100), day(9)),
        MaterialNeed("gold", D(9)),
    ]
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
    needs = [MaterialNeed("white", D(100), rank=3), MaterialNeed("blue", D(100), rank=2)]
    offers = [*WHITE, PackOffer("blue", "b", "shop", D(100), 400)]

    assert [line.material for line in plan(needs, offers, [SHOP], 800).lines] == ["blue"]


def test_a_break_can_bring_a_need_within_the_budget():
    needs = [MaterialNeed("white", D(100), rank=1), MaterialNeed("white", D(200), rank=2)]
    dear = PackOffer("white", "b", "shop", D(100), 500)
    broken = replace(dear, price_breaks=(PriceBreak(3, 400),))

    assert plan(needs, [dear], [SHOP], 1200).left_out.needs == (needs[1],)
    assert plan(needs, [broken], [SHOP], 1200).left_out is None


def test_a_least_order_out_of_reach_leaves_out_what_is_sold_there():
    offers = [WHITE[0], PackOffer("blue", "b", "far", D(100), 400)]
    needs = [MaterialNeed("blue", D(100), day(9)), MaterialNeed("white", D(100))]
    bought = plan(
        needs, offers, [SHOP, SupplierTerms("far", minimum_order=2000)], 1500, today=TODAY
    )

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
    monkeypatch.setattr(planning_module, "solve", nothing_better)
    bought = plan(*market, 1200, today=TODAY)

    assert bought.total <= 1200
    assert not bought.left_out.proven
