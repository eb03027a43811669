"""Packs as they are priced together: numbers of one pack from which every purchase is made up."""

from collections.abc import Hashable, Iterable

from inventory.reordering.covering import Market
from inventory.reordering.knapsack import Pack
from inventory.reordering.market import Offer


def bundles_of(
    market: Market, material: Hashable, suppliers: Iterable[Hashable] | None = None
) -> list[Pack]:
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
    suppliers : iterable of hashable
        Those to buy it from, or None for all, [-]

    Returns
    -------
    bundles : list of Pack
        Each numbered by offer and count, with the size and price of all its packs, [minor units,
        ten-thousandths]
    """
    found = []
    covers, keep = market.covers_of[material], None if suppliers is None else set(suppliers)
    in_time = {i: n for n, cover in reversed(list(enumerate(covers))) for i in cover.offers}
    for number in covers[-1].offers:
        offer, size = market.offers[number], market.sizes[number]
        if keep is not None and offer.supplier not in keep:
            continue
        enough = offer.packs_for(covers[-1].units)
        for count in _counts(offer):
            found.append(Pack((number, count), count * size, offer.cost(count), in_time[number]))
            if count >= enough and count >= offer.levels[-1].min_count:
                break
    return found


def _counts(offer: Offer) -> list[int]:
    counts: list[int] = []
    ends = [level.min_count for level in offer.levels[1:]]
    for level, end in zip(offer.levels, [*ends, 2 * offer.levels[-1].min_count], strict=True):
        counts += range(level.min_count, min(2 * level.min_count, end))
    return counts
