"""Solving the purchase: suppliers first, what that leaves open by HiGHS; say what is proved."""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from fractions import Fraction
from math import ceil, isfinite
from typing import NamedTuple

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp

from inventory.buying.reordering.covering import Market
from inventory.buying.reordering.knapsack import CoverPack, cheapest_cover
from inventory.buying.reordering.market import PackOffer, SupplierTerms, in_units
from inventory.buying.reordering.programme import PackCounts, build
from inventory.buying.reordering.searching import Branch, Search, search
from inventory.buying.reordering.separate import PARTS, separately, shelf_of

INFEASIBLE = 2  # the status of `scipy.optimize.milp`
# For one purchase; most need a few.
MOST_NODES = 1_000
# What a solve takes before it branches is worth so many nodes.
ROOT = 10
# What HiGHS may be off in a bound; costs are whole minor units.
SLACK = 1e-4


class Best(NamedTuple):
    """The cheapest basket found, its cost, and one that no basket can beat, [minor units]."""

    basket: Sequence[int]
    total: int
    bound: int

    @property
    def proven(self) -> bool:
        """Whether nothing cheaper exists."""
        return self.bound >= self.total

    @property
    def gap(self) -> float:
        """Share of the cost by which a better basket might undercut it, [-]."""
        return max(0, self.total - self.bound) / self.total


def solve(market: Market, first_basket: Sequence[int], most_nodes: int = MOST_NODES) -> Best:
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
    first_basket : sequence of int
        A basket that serves all needs, packs of each offer, [-]
    most_nodes : int
        Nodes of branch and bound to look at; after so many the best found is returned, [-]

    Returns
    -------
    best : Best
        Basket, its cost and a lower bound of it, [minor units]

    References
    ----------
    Q. Huangfu and J. A. J. Hall, "Parallelizing the dual revised simplex method", Math. Prog. Comp.
    10 (2018) 119-142 (HiGHS).
    """
    state = search(market, first_basket)
    bounds, left = [], most_nodes
    for branch in sorted(state.open, key=lambda branch: branch.bound):
        bound, nodes = _solve_branch(state, branch, left)
        bounds.append(bound)
        left -= nodes
    total = state.best[0]
    return Best(tuple(state.basket), total, min([total, *bounds]))


def _solve_branch(state: Search, branch: Branch, most_nodes: int) -> tuple[int, int]:
    """Put the best basket of a branch into the search; return a bound for the others there, and
    the nodes that were looked at."""
    best = state.best[0]
    if branch.bound > best or most_nodes <= 0:
        return branch.bound, 0
    # A chosen tier is a supplier that takes orders from its goods on, at its fee.
    terms = {
        key: SupplierTerms(key, minimum_order=tier.goods_from, shipping_fee=tier.fee)
        for key, tier in branch.tiers.items()
    }
    counts = _worth_buying(state.market, branch, best)
    market = replace(state.market, suppliers={**state.market.suppliers, **terms}).part(list(counts))
    if market is None:
        return best, 0
    programme, pack_columns = build(market, list(counts.values()), _excess_weight(market, best))
    answer = milp(
        programme.costs,
        integrality=np.ones(len(programme.costs)),
        bounds=Bounds(0, programme.highest),
        constraints=LinearConstraint(programme.matrix(), programme.least, programme.most),
        options={"node_limit": most_nodes, "mip_rel_gap": 0},
    )
    nodes = ROOT + (answer.mip_node_count or 0)
    if answer.status == INFEASIBLE:
        return best, nodes
    bound = branch.bound
    if answer.mip_dual_bound is not None and isfinite(answer.mip_dual_bound):
        bound = max(bound, _whole(answer.mip_dual_bound))
    if answer.x is None:
        return bound, nodes
    basket = tuple(
        sum(round(answer.x[column.index]) * column.packs for column in columns)
        for columns in pack_columns
    )
    if not market.serves(basket):  # off by a rounding of the solver
        return bound, nodes
    state.offer(state.market.lifted(basket, counts))
    # Not the status: what the solver takes for the least may be off by its tolerances.
    return min(bound, market.total(basket)), nodes


def _worth_buying(market: Market, branch: Branch, best: int) -> dict[int, PackCounts]:
    """Return which numbers of packs of each offer may be in a basket as cheap as the best one.

    With so many packs of an offer bought, its material costs at least those and the cheapest cover
    of the rest, and every other its least; all priced with goods worth what they are in the branch.
    What serves no need costs that much more. Offers without any such number are left out.
    """
    separate = separately(market, branch.suppliers, branch.worth)
    if separate is None:
        return {}
    parts = {key: PARTS - branch.worth.get(key, 0) for key in branch.suppliers}
    threshold = sum(branch.worth.get(key, 0) * t.goods_from for key, t in branch.tiers.items())
    fees = sum(tier.fee for tier in branch.tiers.values())
    slack = (best - fees) * PARTS - threshold - separate.total
    counts_by_offer: dict[int, PackCounts] = {}

    def keep(numbers: Iterable[int], units: int, most: int, packs: Sequence[CoverPack]) -> None:
        rests = _Rests(packs)
        for number in numbers:
            offer = market.offers[number]
            if offer.supplier in parts:
                counts = _useful(offer, units, most, parts[offer.supplier], rests)
                counts_by_offer.update({number: counts} if counts.numbers else {})

    keep(market.spare, 0, slack, ())
    for material, covers in market.covers_of.items():
        packs = shelf_of(market, material).priced(branch.suppliers, branch.worth)
        keep(covers[-1].offers, covers[-1].units, slack + separate.least[material], packs)
    return dict(sorted(counts_by_offer.items()))


def _useful(offer: PackOffer, units: int, most: int, part: int, rests: "_Rests") -> PackCounts:
    """Return the numbers of packs, at ``part`` of their price, that with the rest cost no more."""
    enough = max(offer.packs_for(units), offer.levels[-1].min_count)
    size = in_units(offer.size)
    numbers = [
        count
        for count in range(offer.levels[0].min_count, enough + 1)
        if rests.fits(units - count * size, most - offer.cost(count) * part)
    ]
    return PackCounts(numbers, max(0, most // (part * offer.levels[-1].price) - enough))


class _Rests:
    """The least that what is still missing of a material costs, its dates forgotten."""

    def __init__(self, packs: Iterable[CoverPack]) -> None:
        self.packs = [pack._replace(first=0) for pack in packs]
        self.rate = min((Fraction(p.price, p.size) for p in self.packs), default=Fraction())
        self.known: dict[int, int] = {}

    def fits(self, units: int, most: int) -> bool:
        """Return whether so much may be had for so little; the price by size is asked first."""
        if units <= 0:
            return most >= 0
        if units * self.rate > most:
            return False
        if units not in self.known:
            self.known[units] = cheapest_cover(units, self.packs).bound
        return self.known[units] <= most


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
    separate = separately(market, market.suppliers)
    return separate.least_cost if separate else 0


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
