"""Packs as they are priced together: numbers of one pack from which every purchase is made up."""

from collections.abc import Hashable

from inventory.buying.reordering.covering import Market
from inventory.buying.reordering.knapsack import CoverPack
from inventory.buying.reordering.market import PackOffer


def bundles_of(market: Market, material: Hashable) -> list[CoverPack]:
    """Return bundles of the offers of a material, such that any purchase is a sum of them.

    From each price level on, the next as many numbers of packs again are enough, since a larger
    number is the sum of two of those at the same price. Two bundles of one offer never cost less
    than their packs in one, so the cheapest cover by bundles is the cheapest by packs.

    Parameters
    ----------
    market : Market
        Offers and needs, [minor units, ten-thousandths]
    material : hashable
        A material that is needed, [-]

    Returns
    -------
    bundles : list of CoverPack
        Each numbered by place among the offers of the material and count, with the size and price
        of all its packs, [minor units, ten-thousandths]
    """
    covers, bundles = market.covers_of[material], []
    in_time = {i: n for n, cover in reversed(list(enumerate(covers))) for i in cover.offers}
    units = covers[-1].units
    for place, number in enumerate(market.numbers[material]):
        if number not in in_time:
            continue
        offer, size, first = market.offers[number], market.sizes[number], in_time[number]
        enough = max(offer.packs_for(units), offer.levels[-1].min_count)
        bundles += [
            CoverPack((place, count), count * size, offer.cost(count), first)
            for count in _counts(offer)
            if count <= enough
        ]
    return bundles


def _counts(offer: PackOffer) -> list[int]:
    counts: list[int] = []
    ends = [level.min_count for level in offer.levels[1:]]
    for level, end in zip(offer.levels, [*ends, 2 * offer.levels[-1].min_count], strict=True):
        counts += range(level.min_count, min(2 * level.min_count, end))
    return counts
