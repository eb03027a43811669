"""What is needed and who sells it, as plain facts; money in whole minor units of the currency."""

from collections.abc import Hashable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import cached_property
from typing import Generic, NamedTuple, TypeVar

from studio.units import QUANTITY_PLACES

# A material as its key, or as the row that a service puts in its place.
MaterialT = TypeVar("MaterialT", bound=Hashable, covariant=True)


@dataclass(frozen=True)
class MaterialNeed(Generic[MaterialT]):
    """An amount of a material [mL, g or items] wanted by a date, and what for.

    ``rank`` orders the needs without a date, of which the lowest is wanted first, [-].
    """

    material: MaterialT
    quantity: Decimal
    needed_by: date | None = None
    reason: str = ""
    rank: float = 0.0

    @property
    def urgency(self) -> tuple[date, float, str, Decimal, str]:
        """The order of importance: by date, then without one by rank, in a stable order."""
        when = (self.needed_by or date.max, self.rank)
        return (*when, str(self.material), self.quantity, self.reason)


class PriceBreak(NamedTuple):
    """From so many packs [-], every pack of the line costs this much [minor units]."""

    min_count: int
    price: int


@dataclass(frozen=True)
class PackOffer:
    """A pack of a material that a supplier sells.

    ``size`` is its content [mL, g or items], ``price`` that of one pack [minor units],
    ``min_count`` the fewest that are sold [-].
    """

    material: Hashable
    pack: Hashable
    supplier: Hashable
    size: Decimal
    price: int
    min_count: int = 1
    price_breaks: tuple[PriceBreak, ...] = ()

    @cached_property
    def levels(self) -> list[PriceBreak]:
        """The price from each count on, falling, the first from the fewest packs that are sold."""
        first = max(1, self.min_count)
        levels: list[PriceBreak] = []
        for count, price in [(1, self.price), *sorted(self.price_breaks)]:
            if levels and price >= levels[-1].price:
                continue  # a break that does not undercut the price before it is none
            if levels and count <= first:
                levels.pop()
            levels.append(PriceBreak(max(count, first), price))
        return levels

    def unit_price(self, count: int) -> int:
        """Return the price of one pack when so many are bought, [minor units]."""
        return [level.price for level in self.levels if level.min_count <= max(count, 1)][-1]

    def cost(self, count: int) -> int:
        """Return the price of so many packs, [minor units]."""
        return count * self.unit_price(count) if count else 0

    def packs_for(self, units: int) -> int:
        """Return how many packs cover an amount given in ten-thousandths, [-]."""
        return max(self.levels[0].min_count, -(-units // in_units(self.size))) if units > 0 else 0


class ShippingTier(NamedTuple):
    """From goods of this value on, shipping costs this much, both in [minor units]."""

    goods_from: int
    fee: int


@dataclass(frozen=True)
class SupplierTerms:
    """A supplier's terms: least order, shipping and its waiver [minor units], and lead time [days].

    ``shipping_tiers`` lower the fee as the order grows; ``free_over`` is the last of them, free.
    """

    key: Hashable
    minimum_order: int = 0
    shipping_fee: int = 0
    free_over: int | None = None
    lead_days: int = 0
    shipping_tiers: tuple[ShippingTier, ...] = ()

    @cached_property
    def tiers(self) -> list[ShippingTier]:
        """Shipping from each value of goods on, cheapest last; none below the least order."""
        all_tiers = [ShippingTier(0, self.shipping_fee), *self.shipping_tiers]
        if self.free_over is not None:
            all_tiers.append(ShippingTier(self.free_over, 0))
        tiers: list[ShippingTier] = []
        for goods_from, fee in sorted(all_tiers):
            tier = ShippingTier(max(goods_from, self.minimum_order), fee)
            if tiers and fee >= tiers[-1].fee:
                continue
            if tiers and tiers[-1].goods_from == tier.goods_from:
                tiers.pop()
            tiers.append(tier)
        return tiers

    def shipping(self, goods: int) -> int:
        """Return what shipping an order of this value costs, [minor units]; nothing if empty."""
        fees = [tier.fee for tier in self.tiers if tier.goods_from <= goods]
        return (fees or [self.shipping_fee])[-1] if goods else 0


def in_units(quantity: Decimal) -> int:
    """Return a quantity in ten-thousandths, the last place that stock is kept to.

    Parameters
    ----------
    quantity : Decimal
        Amount with at most four places, [mL, g or items]

    Returns
    -------
    units : int
        The amount times ten thousand, [-]

    Raises
    ------
    ValueError
        If it has more places.
    """
    units = quantity / QUANTITY_PLACES
    if units != units.to_integral_value():
        raise ValueError(f"Amounts have at most four places, and {quantity} has more.")
    return int(units)
