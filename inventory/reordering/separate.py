"""Each material bought by itself, shipping left out: the least that its suppliers ask for it."""

from collections.abc import Collection, Hashable, Mapping, Sequence
from typing import NamedTuple

from inventory.reordering.bundles import bundles_of
from inventory.reordering.covering import Market
from inventory.reordering.knapsack import Cheapest, Pack, cheapest_cover

# Prices are told in so many parts of a minor unit where goods are worth something of themselves.
PARTS = 10_000
NOTHING: Mapping[Hashable, int] = {}


class Separate(NamedTuple):
    """The least of each material, its sum [parts of a minor unit], and the basket of all.

    The basket is None if a cover was not found in time.
    """

    least: dict[Hashable, int]
    basket: list[int] | None

    @property
    def total(self) -> int:
        """What all materials cost, [parts of a minor unit]."""
        return sum(self.least.values())


def separately(
    market: Market,
    suppliers: Collection[Hashable],
    worth: Mapping[Hashable, int] = NOTHING,
) -> Separate | None:
    """Return the cheapest cover of every material from some suppliers, shipping left out.

    Parameters
    ----------
    market : Market
        Offers and needs, [minor units, ten-thousandths]
    suppliers : collection of hashable
        Those to buy from, [-]
    worth : mapping of hashable to int
        What a minor unit of goods from a supplier is worth of itself and so costs less, [parts of a
        minor unit]

    Returns
    -------
    separate : Separate or None
        Costs and basket, the one that brings least of those equally cheap; None if these suppliers
        cannot serve every need
    """
    least, basket, complete = {}, [0] * len(market.offers), True
    for material in market.covers_of:
        cheapest = _cheapest(market, material, suppliers, worth)
        if cheapest is None:
            return None
        least[material] = cheapest.bound
        complete = complete and cheapest.counts is not None
        for number, count in (cheapest.counts or {}).items():
            basket[number] += count
    return Separate(least, basket if complete else None)


def priced(market: Market, packs: Sequence[Pack], worth: Mapping[Hashable, int]) -> list[Pack]:
    """Return bundles at their price less what they are worth, [parts of a minor unit].

    Parameters
    ----------
    market : Market
        Offers, [minor units]
    packs : sequence of Pack
        Bundles of `bundles_of`, [minor units]
    worth : mapping of hashable to int
        As for `separately`, [parts of a minor unit]

    Returns
    -------
    packs : list of Pack
        The same bundles, [parts of a minor unit]
    """
    rates = {key: PARTS - worth.get(key, 0) for key in market.suppliers}
    return [
        Pack(p.number, p.size, p.price * rates[market.offers[p.number[0]].supplier], p.first)
        for p in packs
    ]


def _cheapest(
    market: Market,
    material: Hashable,
    suppliers: Collection[Hashable],
    worth: Mapping[Hashable, int],
) -> Cheapest | None:
    """Return the cheapest cover by counts of offers, remembered by all that it hangs on.

    One that uses few suppliers is also the cheapest from any of those searched that hold them.
    """
    covers, numbers = market.covers_of[material], market.numbers[material]
    sellers = tuple(dict.fromkeys(market.offers[i].supplier for i in numbers))
    asked = frozenset(sellers).intersection(suppliers)
    values = tuple((key, worth[key]) for key in sellers if worth.get(key))
    wanted = tuple((cover.units, len(cover.offers)) for cover in covers)
    known = market.found.setdefault((material, sellers, wanted, values), [])
    for searched, used, bound, counts in known:
        if used <= asked <= searched:
            return _numbered(bound, counts, numbers)
    if not all(any(market.offers[i].supplier in asked for i in cover.offers) for cover in covers):
        return None
    packs = priced(market, bundles_of(market, material, asked), worth)
    found = cheapest_cover(covers[-1].units, packs, [cover.units for cover in covers[:-1]])
    counts, used = None, asked
    if found.counts is not None:
        counts = dict.fromkeys(range(len(numbers)), 0)
        for (number, count), times in found.counts.items():
            counts[numbers.index(number)] += count * times
        counts = {place: count for place, count in counts.items() if count}
        used = frozenset(market.offers[numbers[place]].supplier for place in counts)
    known.append((asked, used, found.bound, counts))
    return _numbered(found.bound, counts, numbers)


def _numbered(bound: int, counts: Mapping[int, int] | None, numbers: Sequence[int]) -> Cheapest:
    """Return counts by place among the offers of a material as counts by number of the offer."""
    if counts is None:
        return Cheapest(bound, None)
    return Cheapest(bound, {numbers[place]: count for place, count in counts.items()})
