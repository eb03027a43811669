"""Packs as they are priced together: numbers of one pack from which every purchase is made up."""

from inventory.reordering.covering import Cover, Market
from inventory.reordering.knapsack import Pack
from inventory.reordering.market import Offer


def bundles_of(market: Market, cover: Cover) -> list[Pack]:
    """Return bundles of the offers that serve a need, such that any purchase is a sum of them.

    From each price level on, the next as many numbers of packs again are enough, since a larger
    number is the sum of two of those at the same price. Two bundles of one offer never cost less
    than their packs in one, so the cheapest cover by bundles is the cheapest by packs.

    Parameters
    ----------
    market : Market
        Offers and needs, [minor units, ten-thousandths]
    cover : Cover
        The need to cover, [ten-thousandths]

    Returns
    -------
    bundles : list of Pack
        Each numbered by offer and count, with the size and price of all its packs, [minor units,
        ten-thousandths]
    """
    found = []
    for number in cover.offers:
        offer, size = market.offers[number], market.sizes[number]
        enough = offer.packs_for(cover.units)
        for count in _counts(offer):
            found.append(Pack((number, count), count * size, offer.cost(count)))
            if count >= enough and count >= offer.levels[-1].min_count:
                break
    return found


def _counts(offer: Offer) -> list[int]:
    counts: list[int] = []
    ends = [level.min_count for level in offer.levels[1:]]
    for level, end in zip(offer.levels, [*ends, 2 * offer.levels[-1].min_count], strict=True):
        counts += range(level.min_count, min(2 * level.min_count, end))
    return counts
