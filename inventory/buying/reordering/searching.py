"""Which suppliers to buy from, at which shipping: branch and bound over materials by themselves.

Materials meet only in what their suppliers ask for: fees, least orders, and goods from which
shipping is lower. With suppliers and fees chosen, the cheapest cover of each material is the bound.
"""

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass, field
from heapq import heappop, heappush
from itertools import count

import numpy as np
from scipy.optimize import linprog

from inventory.buying.reordering.covering import Market
from inventory.buying.reordering.market import ShippingTier
from inventory.buying.reordering.separate import NOTHING, PARTS, separately

# Enough for five suppliers of four tiers; beyond it the solver does better than branching.
MOST_BRANCHES = 400
MOST_PRICINGS = 20


@dataclass(frozen=True)
class Branch:
    """The baskets from some suppliers, of which some ship at a tier that is chosen.

    None of them costs less than ``bound`` [minor units]. It was found with goods from a supplier
    ``worth`` so much of themselves, [parts of a minor unit].
    """

    suppliers: frozenset[Hashable]
    tiers: Mapping[Hashable, ShippingTier] = field(default_factory=dict)
    bound: int = 0
    worth: Mapping[Hashable, int] = field(default_factory=dict)


@dataclass
class Search:
    """The best basket so far, and the branches where a better one may still be."""

    market: Market
    basket: Sequence[int]
    open: list[Branch] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.best = self._measure(self.basket)

    def _measure(self, basket: Sequence[int]) -> tuple[int, float]:
        return self.market.total(basket), self.market.brought(basket)

    def offer(self, basket: Sequence[int]) -> None:
        """Keep a basket if it serves every need and is better than the best so far."""
        if self.market.serves(basket) and (measure := self._measure(basket)) < self.best:
            self.basket, self.best = tuple(basket), measure


def search(market: Market, first_basket: Sequence[int]) -> Search:
    """Return the best basket that branching finds, and the branches that it leaves open.

    A branch is closed when its bound is above the best basket, or when its own basket costs no more
    than the bound. It is split by what to do about a supplier whose fee is not in the bound yet. If
    nothing is left to split, but goods fall short of a chosen tier, those goods are given a worth
    (Lagrange's multiplier) at which the bound is highest.

    Parameters
    ----------
    market : Market
        Offers and needs, [minor units, ten-thousandths]
    first_basket : sequence of int
        A basket that serves all needs, packs of each offer, [-]

    Returns
    -------
    search : Search
        Basket and open branches, [minor units]

    References
    ----------
    A. M. Geoffrion, "Lagrangean relaxation for integer programming", Math. Programming Study 2
    (1974) 82-114.
    """
    state, order = Search(market, first_basket), count()
    everybody = frozenset(offer.supplier for offer in market.offers)
    ahead = [(0, next(order), Branch(everybody))]
    for _ in range(MOST_BRANCHES):
        if not ahead:
            break
        *_, branch = heappop(ahead)
        for part in _followed(state, branch):
            heappush(ahead, (part.bound, next(order), part))
    state.open += [branch for *_, branch in ahead]
    state.open = [branch for branch in state.open if branch.bound <= state.best[0]]
    return state


def _followed(state: Search, branch: Branch) -> list[Branch]:
    """Return the parts of a branch that may hold better baskets; one to be solved stays open."""
    market = state.market
    separate = separately(market, branch.suppliers)
    if separate is None:
        return []
    fees = sum(tier.fee for tier in branch.tiers.values())
    bound = separate.least_cost + fees
    open_branch = Branch(branch.suppliers, branch.tiers, bound)
    if separate.basket is None:
        state.open.append(open_branch)
        return []
    state.offer(separate.basket)
    if (bound, market.brought(separate.basket)) >= state.best:
        return []
    goods = market.goods(separate.basket)
    asking = {
        key: (market.suppliers[key].shipping(value), value < market.suppliers[key].minimum_order)
        for key, value in goods.items()
        if key not in branch.tiers
    }
    key = max(sorted(asking, key=str), key=lambda k: asking[k], default=None)
    if key is not None and any(asking[key]):
        return [
            Branch(branch.suppliers - {key}, branch.tiers, bound),
            *(
                Branch(branch.suppliers, {**branch.tiers, key: tier}, bound)
                for tier in market.suppliers[key].tiers
            ),
        ]
    priced = _given_worth(state, open_branch)
    if priced.bound <= state.best[0]:
        state.open.append(priced)
    return []


def _given_worth(state: Search, branch: Branch) -> Branch:
    """Return a branch with the worth of goods, of a few tried, at which its bound is highest.

    Each bound found is a plane above all others (it falls short by the goods bought beyond those
    asked for). The least worth under no plane is tried next, until no worth can close the branch.
    """
    market = state.market
    tiers = {key: tier for key, tier in branch.tiers.items() if tier.goods_from}
    keys = list(tiers)
    thresholds = np.array([tier.goods_from for tier in tiers.values()])
    fees = sum(tier.fee for tier in branch.tiers.values())
    worth: Mapping[Hashable, int] = NOTHING
    best, planes, heights = branch, [], []
    for _ in range(MOST_PRICINGS):
        separate = separately(market, branch.suppliers, worth)
        if separate is None or separate.basket is None:
            break
        state.offer(separate.basket)
        parts = separate.total + sum(worth.get(key, 0) * tiers[key].goods_from for key in keys)
        bound = -(-parts // PARTS) + fees
        if bound > best.bound:
            best = Branch(branch.suppliers, branch.tiers, bound, worth)
        if bound > state.best[0]:
            break
        goods = market.goods(separate.basket)
        slope = thresholds - np.array([goods.get(key, 0) for key in keys])
        worths = np.array([worth.get(key, 0) for key in keys])
        planes.append([*-slope, 1])
        heights.append((parts - slope @ worths) / PARTS + fees)
        solution = linprog(
            [*[0.001] * len(keys), -1],  # of equally high ones the least worth
            A_ub=planes,
            b_ub=heights,
            bounds=[*[(0, 0.9)] * len(keys), (None, state.best[0] + 0.5)],
        )
        if solution.x is None or solution.x[-1] <= best.bound + 0.1:
            break
        worth = {key: round(x * PARTS) for key, x in zip(keys, solution.x[:-1], strict=True)}
    return best
