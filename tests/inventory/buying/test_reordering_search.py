"""Suppliers chosen before packs: bounds hold, and nothing is lost on any way through."""

from dataclasses import replace
from types import SimpleNamespace

import pytest
from scipy.optimize import milp

from inventory.buying.reordering import Words, plan, searching, solving
from inventory.buying.reordering.baskets import cheapest_packs
from inventory.buying.reordering.covering import sift
from inventory.buying.reordering.searching import search
from inventory.buying.reordering.solving import solve
from tests.inventory.buying.markets import (
    TODAY,
    brute_force,
    day,
    priced_market,
    random_market,
    whole_programme,
)

# By these the search settles all (0, 3, 19), leaves one supplier's tier open (5, 10, 45), or two.
MARKETS = (0, 3, 5, 10, 19, 22, 45)


@pytest.fixture(scope="module")
def least_costs():
    return {seed: brute_force(*random_market(seed)) for seed in MARKETS}


def sifted(seed):
    return sift(*random_market(seed), today=TODAY, allow_late=False, words=Words())


@pytest.mark.parametrize("seed", MARKETS)
def test_what_the_search_closes_holds_nothing_cheaper(seed, least_costs):
    least, _ = least_costs[seed]
    market = sifted(seed)
    found = search(market, cheapest_packs(market))

    assert market.serves(found.basket)
    assert min([found.best[0], *(branch.bound for branch in found.open)]) <= least <= found.best[0]
    assert bool(found.open) == (seed in (5, 10, 22, 45))


@pytest.mark.parametrize("seed", MARKETS)
def test_what_is_left_open_after_few_branches_is_solved_whole(seed, least_costs, monkeypatch):
    monkeypatch.setattr(searching, "MOST_BRANCHES", 1)
    least, brought = least_costs[seed]
    market = sifted(seed)
    found = solve(market, cheapest_packs(market))

    assert (market.total(found.basket), found.bound) == (least, least)
    assert market.brought(found.basket) == pytest.approx(brought)


@pytest.mark.parametrize("seed", MARKETS)
@pytest.mark.parametrize("nodes", (0, 1))
def test_with_no_effort_left_the_bound_still_holds(seed, nodes, least_costs):
    market = sifted(seed)
    least, _ = least_costs[seed]
    found = solve(market, cheapest_packs(market), nodes)

    assert market.serves(found.basket)
    assert found.bound <= least <= market.total(found.basket)


@pytest.mark.parametrize("seed", (5, 10, 22, 45))
def test_what_the_solver_takes_for_the_least_proves_nothing(seed, least_costs, monkeypatch):
    """As if its tolerances let it end with the dearest basket that it knows, and call it best."""

    def careless(costs, **options):
        answer = milp([-cost for cost in costs], **options)
        return SimpleNamespace(status=0, x=answer.x, fun=0.0, mip_dual_bound=0.0, mip_node_count=1)

    monkeypatch.setattr(solving, "milp", careless)
    market = sifted(seed)
    found = solve(market, cheapest_packs(market))

    assert found.bound <= least_costs[seed][0]


def test_the_same_effort_ends_alike():
    facts = priced_market(0, 8, 4, in_steps=True)

    assert plan(*facts, most_nodes=1) == plan(*facts, most_nodes=1)


@pytest.mark.parametrize(
    ("seed", "materials", "suppliers", "in_steps"),
    [(2, 4, 3, False), (7, 4, 3, True), (1, 6, 4, True), (4, 6, 4, False), (6, 8, 4, False)],
)
def test_plan_equals_the_whole_programme_solved(seed, materials, suppliers, in_steps):
    facts = priced_market(seed, materials, suppliers, in_steps=in_steps)
    bought, whole = plan(*facts), whole_programme(*facts)

    assert whole.status == 0 and bought.proven
    assert bought.total == round(whole.fun)


@pytest.mark.parametrize(
    ("seed", "materials", "suppliers", "in_steps"), [(2, 5, 4, False), (57, 3, 3, True)]
)
def test_plan_for_two_dates_equals_the_whole_programme_solved(seed, materials, suppliers, in_steps):
    """A third of each need is wanted before every other supplier can deliver."""
    needs, offers, terms = priced_market(seed, materials, suppliers, in_steps=in_steps)
    needs += [replace(each, quantity=each.quantity // 3, needed_by=day(5)) for each in needs]
    terms = [replace(each, lead_days=3 + 4 * (n % 2)) for n, each in enumerate(terms)]
    bought = plan(needs, offers, terms, today=TODAY)
    whole = whole_programme(needs, offers, terms, 20, TODAY)

    assert whole.status == 0 and bought.proven
    assert bought.total == round(whole.fun)
