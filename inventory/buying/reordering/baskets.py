"""The basket that a person would think of first: each need at its cheapest pack."""

from collections.abc import Sequence

from inventory.buying.reordering.covering import Market


def cheapest_packs(market: Market) -> list[int]:
    """Return the basket of somebody who buys each need in the one pack that covers it for least.

    Least orders are then reached with more of the cheapest pack already chosen there.

    Parameters
    ----------
    market : Market
        Offers and needs, [minor units, ten-thousandths]

    Returns
    -------
    basket : list of int
        Packs of each offer, [-]; it serves every need
    """
    basket = [0] * len(market.offers)
    for cover in market.covers:
        units_in_basket = sum(basket[i] * market.sizes[i] for i in cover.offers)
        missing = cover.units - units_in_basket
        if missing > 0:
            best = min(cover.offers, key=lambda i: _to_add(market, basket, i, missing))
            basket[best] += _more(market, basket, best, missing)
    return _reach_least_orders(market, basket)


def _more(market: Market, basket: Sequence[int], number: int, missing: int) -> int:
    """Return how many more packs of an offer cover what is missing."""
    offer = market.offers[number]
    packs = -(-missing // market.sizes[number])
    return packs if basket[number] else max(packs, offer.levels[0].min_count)


def _to_add(market: Market, basket: Sequence[int], number: int, missing: int) -> tuple[int, int]:
    """Return what covering the missing amount by one offer adds: cost, then excess."""
    offer, more = market.offers[number], _more(market, basket, number, missing)
    added = offer.cost(basket[number] + more) - offer.cost(basket[number])
    return added, more * market.sizes[number]


def _reach_least_orders(market: Market, basket: list[int]) -> list[int]:
    for key, goods in market.goods(basket).items():
        least = market.suppliers[key].minimum_order
        if goods >= least:
            continue
        _, number = min(
            (offer.unit_price(basket[i]), i)
            for i, offer in enumerate(market.offers)
            if offer.supplier == key and basket[i]
        )
        offer = market.offers[number]
        missing = least - goods + offer.cost(basket[number])
        # A price break may make more packs cheaper in all, so each level is tried.
        enough = [
            max(basket[number], level.min_count, -(-missing // level.price))
            for level in offer.levels
        ]
        basket[number] = min(count for count in enough if offer.cost(count) >= missing)
    return basket
