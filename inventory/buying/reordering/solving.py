"""Solving the purchase: suppliers first, what that leaves open by HiGHS; say what is proved."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import ceil, isfinite
from typing import NamedTuple

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp

from inventory.buying.reordering.covering import Market
from inventory.buying.reordering.effort import Effort
from inventory.buying.reordering.knapsack import cheapest_cover
from inventory.buying.reordering.market import Offer, Supplier
from inventory.buying.reordering.programme import build, counts_tried
from inventory.buying.reordering.searching import Branch, Search, search
from inventory.buying.reordering.separate import PARTS, separately, shelf_of

INFEASIBLE = 2  # the status of `scipy.optimize.milp`
# What HiGHS may be off in a bound; costs are whole minor units.
SLACK = 1e-4


@dataclass(frozen=True)
class Solution:
    """A basket, or None if none was found, and a cost that no basket can beat.

    The two costs are equal when the basket is proved to be the cheapest.
    """

    basket: tuple[int, ...] | None
    bound: int


def solve(market: Market, known: Sequence[int], effort: Effort) -> Solution:
    """Return the basket of least landed cost, and of those the one that brings least.

    Which suppliers to use at which shipping is settled by `search`, which leaves few choices open.
    Each of those goes to HiGHS, without the packs that cannot be in a basket as cheap as the best
    so far. Its objective is the cost plus a share below one minor unit for what is brought, so that
    one solve settles both. The market is sorted, and all goes the same way each time, so the same
    facts give the same basket.

    Parameters
    ----------
    market : Market
        Offers and needs, [minor units, ten-thousandths]
    known : sequence of int
        A basket that serves all needs, packs of each offer, [-]
    effort : Effort
        What may be looked at; once it is spent the best found is returned, [nodes]

    Returns
    -------
    solution : Solution
        Basket and lower bound of the cost, [minor units]

    References
    ----------
    Q. Huangfu and J. A. J. Hall, "Parallelizing the dual revised simplex method", Math. Prog. Comp.
    10 (2018) 119-142 (HiGHS).
    """
    state = search(market, known)
    bounds = [
        _solve_branch(state, branch, effort)
        for branch in sorted(state.open, key=lambda branch: branch.bound)
    ]
    return Solution(tuple(state.basket), min([state.best[0], *bounds]))


def _solve_branch(state: Search, branch: Branch, effort: Effort) -> int:
    """Put the best basket of a branch into the search, and return a bound for the others there."""
    best = state.best[0]
    if branch.bound > best or effort.is_spent:
        return branch.bound
    # A chosen tier is a supplier that takes orders from its goods on, at its fee.
    terms = {
        key: Supplier(key, minimum_order=tier.goods_from, shipping_fee=tier.fee)
        for key, tier in branch.tiers.items()
    }
    worth_buying = _worth_buying(state.market, branch, best)
    numbers = [number for number, counts in worth_buying.items() if counts.most]
    market = replace(state.market, suppliers={**state.market.suppliers, **terms}).part(numbers)
    if market is None:
        return best
    programme, bought = build(market, _excess_weight(market, best))
    for number, columns in zip(numbers, bought, strict=True):
        useful, most = worth_buying[number]
        for column in columns:
            highest = int(column.packs in useful)
            if column.is_more:
                highest = most - columns[-2].packs
            elif len(columns) == 1:
                highest = most // column.packs
            programme.highest[column.index] = max(0, min(programme.highest[column.index], highest))
    answer = milp(
        programme.costs,
        integrality=np.ones(len(programme.costs)),
        bounds=Bounds(0, programme.highest),
        constraints=LinearConstraint(programme.matrix(), programme.least, programme.most),
        options={"node_limit": effort.nodes, "mip_rel_gap": 0},
    )
    effort.spend(answer.mip_node_count or 0)
    if answer.status == INFEASIBLE:
        return best
    bound = branch.bound
    if answer.mip_dual_bound is not None and isfinite(answer.mip_dual_bound):
        bound = max(bound, _whole(answer.mip_dual_bound))
    if answer.x is None:
        return bound
    basket = tuple(
        sum(round(answer.x[column.index]) * column.packs for column in columns)
        for columns in bought
    )
    if not market.serves(basket):  # off by a rounding of the solver
        return bound
    state.offer(state.market.lifted(basket, numbers))
    # Not the status: what the solver takes for the least may be off by its tolerances.
    return min(bound, market.total(basket))


class Counts(NamedTuple):
    """Numbers of packs up to what covers the need and reaches the last price; the most of all."""

    useful: set[int]
    most: int


def _worth_buying(market: Market, branch: Branch, best: int) -> dict[int, Counts]:
    """Return which numbers of packs of each offer may be in a basket as cheap as the best one.

    With so many packs of an offer bought, its material costs at least those and the cheapest cover
    of the rest, and every other its least; all priced with goods worth what they are in the branch.
    What serves no need costs that much more.
    """
    kept: dict[int, Counts] = {}
    bought = separately(market, branch.suppliers, branch.worth)
    if bought is None:
        return kept
    parts = {key: PARTS - branch.worth.get(key, 0) for key in branch.suppliers}
    asked = sum(branch.worth.get(key, 0) * t.goods_from for key, t in branch.tiers.items())
    fees = sum(tier.fee for tier in branch.tiers.values())
    slack = (best - fees) * PARTS - asked - bought.total
    for material, covers in market.covers_of.items():
        units, most = covers[-1].units, slack + bought.least[material]
        priced = shelf_of(market, material).priced(branch.suppliers, branch.worth)
        packs = [pack._replace(first=0) for pack in priced]  # the dates of a rest do not matter
        rate = min(pack.price / pack.size for pack in packs)
        rests: dict[int, int] = {}
        for number in covers[-1].offers:
            offer, size = market.offers[number], market.sizes[number]
            if offer.supplier not in parts:
                continue
            part, useful = parts[offer.supplier], set()
            enough = max(offer.packs_for(units), offer.levels[-1].min_count)
            for count in range(offer.levels[0].min_count, enough + 1):
                price, rest = offer.cost(count) * part, units - count * size
                if rest > 0 and price + int(rest * rate * (1 - SLACK)) <= most:
                    if rest not in rests:
                        rests[rest] = cheapest_cover(rest, packs).bound
                    price += rests[rest]
                elif rest > 0:
                    continue
                if price <= most:
                    useful.add(count)
            kept[number] = _counted(offer, useful, enough, most // part)
    for number in market.spare:
        offer = market.offers[number]
        if offer.supplier in parts:
            most = slack // parts[offer.supplier]
            counts = counts_tried(offer, market.needed.get(offer.material, 0))
            useful = {count for count in counts if offer.cost(count) <= most}
            kept[number] = _counted(offer, useful, counts[-1], most)
    return kept


def _counted(offer: Offer, useful: set[int], enough: int, most: int) -> Counts:
    """Return the useful numbers up to enough, and how many more so much money buys."""
    beyond = most // offer.levels[-1].price
    return Counts(useful, beyond if beyond > enough else max(useful, default=0))


def least_conceivable(market: Market) -> int:
    """Return a cost that no basket can beat, found without the solver.

    Parameters
    ----------
    market : Market
        Offers and needs, [minor units, ten-thousandths]

    Returns
    -------
    bound : int
        Each material at its cheapest cover, shipping left out, [minor units]
    """
    bought = separately(market, market.suppliers)
    return bought.least_cost if bought else 0


def _whole(bound: float) -> int:
    """Return the least whole cost above a bound of the objective.

    The share for what is brought is below one minor unit, so the cost is above the bound less one.
    """
    return max(0, ceil(bound - 1 + SLACK))


def _excess_weight(market: Market, known_cost: int) -> float:
    """Return a weight at which all that so much money can bring weighs less than one."""
    most = max(
        size / market.needed.get(offer.material, size) / min(level.price for level in offer.levels)
        for offer, size in zip(market.offers, market.sizes, strict=True)
    )
    return 0.99 / (most * known_cost)
