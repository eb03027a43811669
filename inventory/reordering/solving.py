"""Solving the purchase: rule out what is certain, leave the rest to HiGHS, say what is proved."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, isfinite
from time import monotonic

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp

from inventory.reordering.bundles import bundles_of
from inventory.reordering.covering import Market
from inventory.reordering.knapsack import cheapest_cover
from inventory.reordering.programme import build, counts_tried

# What HiGHS may be off in a bound; costs are whole minor units.
SLACK = 1e-4


@dataclass(frozen=True)
class Solution:
    """A basket, or None if none was found in time, and a cost that no basket can beat.

    The two costs are equal when the basket is proved to be the cheapest.
    """

    basket: tuple[int, ...] | None
    bound: int


def solve(market: Market, known: Sequence[int], seconds: float) -> Solution:
    """Return the basket of least landed cost, and of those the one that brings least.

    The objective is the cost plus a share below one minor unit for what is brought, so that one
    solve settles both. The least that each need can cost by itself gives a bound, and packs that
    cannot be in a basket as cheap as the known one are left out before HiGHS begins. The market is
    sorted, and HiGHS goes the same way each time, so the same facts give the same basket.

    Parameters
    ----------
    market : Market
        Offers and needs, [minor units, ten-thousandths]
    known : sequence of int
        A basket that serves all needs, packs of each offer, [-]
    seconds : float
        Time after which the best found is returned, [s]

    Returns
    -------
    solution : Solution
        Basket and lower bound of the cost, [minor units]

    References
    ----------
    Q. Huangfu and J. A. J. Hall, "Parallelizing the dual revised simplex method", Math. Prog. Comp.
    10 (2018) 119-142 (HiGHS).
    """
    deadline = monotonic() + seconds
    known_cost = market.total(known)
    bound, useless = _ruled_out(market, known_cost)
    programme, bought = build(market, _excess_weight(market, known_cost))
    for number, columns in enumerate(bought):
        for column in columns:
            if not column.is_more and (number, column.packs) in useless:
                programme.highest[column.index] = 0
    answer = milp(
        programme.costs,
        integrality=np.ones(len(programme.costs)),
        bounds=Bounds(0, programme.highest),
        constraints=LinearConstraint(programme.matrix(), programme.least, programme.most),
        options={"time_limit": max(deadline - monotonic(), 0.01), "mip_rel_gap": 0},
    )
    if answer.mip_dual_bound is not None and isfinite(answer.mip_dual_bound):
        bound = max(bound, min(_whole(answer.mip_dual_bound), known_cost))
    if answer.x is None:
        return Solution(None, bound)
    basket = tuple(
        sum(round(answer.x[column.index]) * column.packs for column in columns)
        for columns in bought
    )
    if not market.serves(basket):  # off by a rounding of the solver
        return Solution(None, bound)
    return Solution(basket, market.total(basket) if answer.status == 0 else bound)


def _ruled_out(market: Market, known_cost: int) -> tuple[int, set[tuple[int, int]]]:
    """Return a bound of the cost, and what no basket up to the known cost holds: (offer, packs).

    The needs of each material cost at least their cheapest cover, shipping or not. With so many
    packs of an offer bought, its material costs at least those and the cheapest cover of the rest.
    """
    last = {cover.material: cover for cover in market.covers}  # later covers include earlier
    bundles = {material: bundles_of(market, cover) for material, cover in last.items()}
    least = {key: cheapest_cover(cover.units, bundles[key]).bound for key, cover in last.items()}
    bound, useless = sum(least.values()), set()
    for material, cover in last.items():
        most = known_cost - bound + least[material]
        rate = min(pack.price / pack.size for pack in bundles[material])
        rests: dict[int, int] = {}
        for number in cover.offers:
            for count in counts_tried(market.offers[number], cover.units):
                price = market.offers[number].cost(count)
                rest = cover.units - count * market.sizes[number]
                if rest > 0 and price + int(rest * rate * (1 - SLACK)) <= most:
                    if rest not in rests:
                        rests[rest] = cheapest_cover(rest, bundles[material]).bound
                    price += rests[rest]
                elif rest > 0:
                    price = most + 1
                if price > most:
                    useless.add((number, count))
    return bound, useless


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
    last = {cover.material: cover for cover in market.covers}
    return sum(cheapest_cover(c.units, bundles_of(market, c)).bound for c in last.values())


def _whole(bound: float) -> int:
    """Return the least whole cost above a bound of the objective.

    The share for what is brought is below one minor unit, so the cost is above the bound less one.
    """
    return max(0, ceil(bound - 1 + SLACK))


def _excess_weight(market: Market, known_cost: int) -> float:
    """Return a weight at which all that so much money can bring weighs less than one."""
    most = max(
        size / market.needed[offer.material] / min(level.price for level in offer.levels)
        for offer, size in zip(market.offers, market.sizes, strict=True)
    )
    return 0.99 / (most * known_cost)
