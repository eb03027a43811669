"""Each material bought by itself, shipping left out: the least that its suppliers ask for it."""

from collections import defaultdict
from collections.abc import Collection, Hashable, Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

from inventory.buying.reordering.bundles import bundles_of
from inventory.buying.reordering.covering import Market
from inventory.buying.reordering.knapsack import Cheapest, CoverPack, cheapest_cover

# Prices are told in so many parts of a minor unit where goods are worth something of themselves.
PARTS = 10_000
NOTHING: Mapping[Hashable, int] = {}


@dataclass
class MaterialBundles:
    """Bundles of one material, numbered by the place of the offer and count, and known covers.

    ``sellers`` has the supplier of each place, ``amounts`` what is wanted by each date.
    """

    bundles: list[CoverPack]
    sellers: tuple[Hashable, ...]
    amounts: list[int]
    known: dict[frozenset[tuple[Hashable, int]], Cheapest] = field(default_factory=dict)

    def priced(
        self, suppliers: Collection[Hashable], worth: Mapping[Hashable, int]
    ) -> list[CoverPack]:
        """Return bundles of some suppliers at their price less their worth, [parts]."""
        return [
            pack._replace(price=pack.price * (PARTS - worth.get(seller, 0)))
            for pack in self.bundles
            if (seller := self.sellers[pack.number[0]]) in suppliers
        ]

    def cheapest(
        self, suppliers: Collection[Hashable], worth: Mapping[Hashable, int]
    ) -> Cheapest | None:
        """Return the cheapest cover by counts of places, or None if some date cannot be met."""
        question = frozenset((key, worth.get(key, 0)) for key in self.sellers if key in suppliers)
        if question not in self.known:
            packs = self.priced(suppliers, worth)
            if not any(pack.first == 0 for pack in packs):
                return None
            cover = cheapest_cover(self.amounts[-1], packs, self.amounts[:-1])
            counts: dict[int, int] | None = None
            if cover.counts is not None:
                counts = defaultdict(int)
                for (place, count), times in cover.counts.items():
                    counts[place] += count * times
            self.known[question] = Cheapest(cover.bound, counts)
        return self.known[question]


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

    @property
    def least_cost(self) -> int:
        """What no basket undercuts where goods are worth nothing of themselves, [minor units]."""
        return -(-self.total // PARTS)


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
        cheapest = shelf_of(market, material).cheapest(suppliers, worth)
        if cheapest is None:
            return None
        least[material] = cheapest.bound
        complete = complete and cheapest.counts is not None
        for place, count in (cheapest.counts or {}).items():
            basket[market.numbers[material][place]] = count
    return Separate(least, basket if complete else None)


def shelf_of(market: Market, material: Hashable) -> MaterialBundles:
    """Return the bundles of a material and what is known of their covers, kept with the market.

    Parameters
    ----------
    market : Market
        Offers and needs, [minor units, ten-thousandths]
    material : hashable
        A material that is needed, [-]

    Returns
    -------
    shelf : MaterialBundles
        The same for every market that asks the same of these offers, [-]
    """
    numbers, covers = market.numbers[material], market.covers_of[material]
    sellers = tuple(market.offers[i].supplier for i in numbers)
    amounts = tuple((cover.units, len(cover.offers)) for cover in covers)
    shelf: MaterialBundles | None = market.known_covers.get((material, sellers, amounts))
    if shelf is None:
        shelf = MaterialBundles(
            bundles_of(market, material), sellers, [cover.units for cover in covers]
        )
        market.known_covers[material, sellers, amounts] = shelf
    return shelf
