"""Solving the purchase: rule out what is certain, leave the rest to HiGHS, say what is proved."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, isfinite
from time import monotonic

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp

from inventory.reordering.covering import Market
from inventory.reordering.knapsack import Pack, cheapest_cover
from inventory.reordering.programme import build

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
    programme, counts = build(market, _excess_weight(market, known_cost))
    for number in useless:
        for column in counts[number]:
            programme.highest[column] = 0
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
    basket = tuple(sum(round(answer.x[column]) for column in columns) for columns in counts)
    if not market.serves(basket):  # off by a rounding of the solver
        return Solution(None, bound)
    return Solution(basket, market.total(basket) if answer.status == 0 else bound)


def _ruled_out(market: Market, known_cost: int) -> tuple[int, list[int]]:
    """Return a bound of the cost, and the offers that no basket up to the known cost can hold.

    The needs of each material cost at least their cheapest cover at the lowest prices, shipping or
    not. With one pack of an offer bought, its material costs at least that pack and the cheapest
    cover of the rest.
    """
    least, extra = {}, {}
    for cover in market.covers:  # the last cover of a material is all that is needed of it
        packs = [
            Pack(i, market.sizes[i], min(level.price for level in market.offers[i].levels))
            for i in cover.offers
        ]
        least[cover.material] = cheapest = cheapest_cover(cover.units, packs).bound
        for pack in packs:
            rest = cover.units - pack.size
            with_it = pack.price + (cheapest_cover(rest, packs).bound if rest > 0 else 0)
            extra[pack.number] = with_it - cheapest
    bound = sum(least.values())
    return bound, [number for number, more in extra.items() if bound + more > known_cost]


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
