"""The cheapest way to buy what is needed: whole packs, several suppliers, shipping and all."""

from collections.abc import Callable, Hashable, Iterable, Sequence
from dataclasses import replace
from datetime import date
from typing import Any

from inventory.buying.reordering.affording import afford
from inventory.buying.reordering.baskets import cheapest_packs
from inventory.buying.reordering.covering import Market, sift
from inventory.buying.reordering.market import MaterialNeed, PackOffer, SupplierTerms
from inventory.buying.reordering.plans import Comparison, KeyPlan, LeftOut, PurchasePlan
from inventory.buying.reordering.reasons import orders_of
from inventory.buying.reordering.solving import MOST_NODES, Best, solve
from inventory.buying.reordering.words import PlanProblem, Words

# What the plan is compared with, and each trial of what a budget covers, gets so much less effort.
SHARE_OF_OTHERS = 10


def plan(
    needs: Iterable[MaterialNeed[Hashable]],
    offers: Iterable[PackOffer],
    suppliers: Iterable[SupplierTerms],
    budget: int | None = None,
    most_nodes: int = MOST_NODES,
    *,
    today: date | None = None,
    allow_late: bool = False,
    words: Words | None = None,
) -> KeyPlan:
    """Return the purchase of least landed cost that covers every need in time.

    A mixed-integer programme over whole packs, with least counts, price breaks, least orders,
    shipping fees by value of goods, and dates of need. Of equally cheap purchases, the one that
    leaves least over. Costs are recomputed in integers from the counts. Where the
    search ends before it has proved that, the best purchase found is returned with its gap.

    Within a budget that is too small, needs are covered in the order of `MaterialNeed.urgency`,
    each wholly or not at all: one is left out only where what is covered before it leaves too
    little for it (see `afford`). Of the purchases that cover the same, the one of least cost is
    returned; it may hold packs of what is left out, to reach a least order or lower shipping.

    Parameters
    ----------
    needs : iterable of MaterialNeed
        What is wanted; needs of one material add up, those with a date by that date,
        [mL, g or items]
    offers : iterable of PackOffer
        Packs on sale, of any material; only of those wanted is anything bought, [minor units]
    suppliers : iterable of SupplierTerms
        Terms of the suppliers in reach; offers of others are passed over, [minor units]
    budget : int
        Most that may be spent, shipping included, [minor units]
    most_nodes : int
        Nodes of branch and bound for the plan; a tenth for each purchase that it is compared with
        or that a budget is tried on, [-]
    today : date
        Day of ordering, wanted when a need has a date, [date]
    allow_late : bool
        Whether a need that nobody can meet in time is met as soon as possible and its line marked
        late, [-]; if not, it is refused.
    words : Words
        How to write names and amounts in reasons and refusals, [-]

    Returns
    -------
    plan : PurchasePlan
        Orders by supplier with reasons, what other ways would cost, and what a budget leaves out,
        [minor units]

    Raises
    ------
    PlanProblem
        If nobody sells a material, or nobody in time, or the budget covers not one need.

    Examples
    --------
    >>> from decimal import Decimal
    >>> shop = SupplierTerms("shop", shipping_fee=590, free_over=5000)
    >>> packs = [PackOffer("white", size, "shop", Decimal(size), price)
    ...          for size, price in [(120, 750), (250, 1300), (500, 2200)]]
    >>> bought = plan([MaterialNeed("white", Decimal(310))], packs, [shop])
    >>> [(line.count, line.pack) for line in bought.lines], bought.goods, bought.shipping
    ([(1, 120), (1, 250)], 2050, 590)

    References
    ----------
    H. Kellerer, U. Pferschy and D. Pisinger, *Knapsack Problems* (2004), ch. 8 (bounded knapsack in
    its covering form).
    """
    words = words or Words()
    needs, suppliers = list(needs), list(suppliers)
    materials = {need.material for need in needs}
    offers = [offer for offer in offers if offer.material in materials]

    known_covers: dict[Hashable, Any] = {}  # cheapest covers, which the trials of a budget share

    def market_of(some: Sequence[MaterialNeed[Hashable]]) -> Market:
        market = sift(some, offers, suppliers, today=today, allow_late=allow_late, words=words)
        return replace(market, known_covers=known_covers)

    market = market_of(needs)
    if not market.covers:
        return PurchasePlan((), 0.0, True, (), made_on=today, budget=budget)
    fewer_nodes = most_nodes // SHARE_OF_OTHERS
    alone = _one_supplier_each(market, fewer_nodes)
    best = _least(market, most_nodes, alone.values())
    left_out = None
    if budget is not None and best.total > budget:
        needs, left_out = _within(budget, needs, best, market_of, fewer_nodes, words)
        market = market_of(needs)
        alone = _one_supplier_each(market, fewer_nodes)
        best = _least(market, most_nodes, alone.values())
    return PurchasePlan(
        orders_of(market, best.basket, needs, today, words),
        best.gap,
        best.proven,
        _comparisons(market, best, alone),
        left_out,
        made_on=today,
        budget=budget,
    )


def _least(market: Market, most_nodes: int, others: Iterable[Best] = ()) -> Best:
    """Return the cheapest basket, which costs no more than any of those known before."""
    baskets = [cheapest_packs(market), *(other.basket for other in others)]
    least = min(baskets, key=lambda basket: (market.total(basket), market.brought(basket)))
    return solve(market, least, most_nodes)


def _one_supplier_each(market: Market, most_nodes: int) -> dict[Hashable, Best]:
    """Return the cheapest basket from each supplier that has everything in time."""
    alone = {}
    for key in sorted({offer.supplier for offer in market.offers}, key=str):
        if (part := market.only([key])) is not None:
            best = _least(part, most_nodes)
            numbers = [i for i, offer in enumerate(market.offers) if offer.supplier == key]
            alone[key] = best._replace(basket=market.lifted(best.basket, numbers))
    return alone


def _comparisons(
    market: Market, best: Best, alone: dict[Hashable, Best]
) -> tuple[Comparison[Hashable], ...]:
    """Return what buying at the cheapest pack, and from each single supplier, would cost."""
    simple = market.total(cheapest_packs(market))
    ways = [
        Comparison("one_supplier", key, one.total, one.total - best.total, one.proven)
        for key, one in alone.items()
    ]
    ways.sort(key=lambda way: (way.total, str(way.supplier)))
    return (Comparison("cheapest_packs", None, simple, simple - best.total, True), *ways)


def _within(
    budget: int,
    needs: Sequence[MaterialNeed[Hashable]],
    best: Best,
    market_of: Callable[[Sequence[MaterialNeed[Hashable]]], Market],
    most_nodes: int,
    words: Words,
) -> tuple[list[MaterialNeed[Hashable]], LeftOut[Hashable]]:
    """Return the needs that a budget below the cost of all covers, and what it leaves out."""

    def least(market: Market) -> tuple[int, int]:
        best = _least(market, most_nodes)
        return best.total, best.bound

    real_needs = [need for need in needs if need.quantity]
    covered, left_out, proven = afford(real_needs, budget, market_of, least)
    if not covered:
        singly = [(_least(market_of([need]), most_nodes), need) for need in left_out]
        one, need = min(singly, key=lambda pair: (pair[0].total, pair[1].urgency))
        is_least = min(other.bound for other, _ in singly) >= one.total
        raise PlanProblem.over_budget(
            (best.total, best.proven), budget, need, (one.total, is_least), words
        )
    more = _least(market_of([*covered, left_out[0]]), most_nodes)
    return list(covered), LeftOut(
        needs=left_out,
        all_total=best.total,
        next_total=min(more.total, best.total),
        least_proven=best.proven and more.proven,
        proven=proven and best.bound > budget,
    )
