"""A pack's prices and a supplier's terms as the arithmetic of reordering knows them."""

from decimal import ROUND_CEILING, Decimal

from inventory.buying import reordering
from inventory.buying.reordering import PriceBreak, ShippingTier
from inventory.models import Pack, Supplier
from inventory.steps import PRICE_BREAKS, SHIPPING_TIERS

# Prices are kept to a thousandth, and the plan counts in whole ones.
PRICE_UNITS = 1000


def offer_of(pack: Pack) -> reordering.PackOffer:
    """Return a pack as a `PackOffer`, its price breaks included."""
    return reordering.PackOffer(
        material=pack.material_id,
        pack=pack.pk,
        supplier=pack.supplier_id,
        size=pack.size,
        price=in_units(pack.price),
        min_count=pack.minimum_count,
        price_breaks=tuple(
            PriceBreak(count, in_units(price))
            for count, price in PRICE_BREAKS.pairs(pack.price_breaks)
        ),
    )


def terms_of(supplier: Supplier) -> reordering.SupplierTerms:
    """Return a supplier's terms, its tiers of shipping included."""
    free_over = supplier.free_shipping_over
    return reordering.SupplierTerms(
        key=supplier.pk,
        minimum_order=in_units(supplier.minimum_order),
        shipping_fee=in_units(supplier.shipping_fee),
        free_over=None if free_over is None else in_units(free_over),
        lead_days=int(supplier.lead_days.to_integral_value(ROUND_CEILING)),
        shipping_tiers=tuple(
            ShippingTier(in_units(goods_from), in_units(fee))
            for goods_from, fee in SHIPPING_TIERS.pairs(supplier.shipping_tiers)
        ),
    )


def unit_price(pack: Pack, count: int) -> Decimal:
    """Return what one pack costs when so many are bought, [currency]."""
    return as_money(offer_of(pack).unit_price(count))


def shipping(supplier: Supplier, goods: Decimal) -> Decimal:
    """Return what an order of so much costs to ship, [currency]; nothing if empty."""
    return as_money(terms_of(supplier).shipping(in_units(goods)))


def in_units(money: Decimal) -> int:
    """Return an amount of money in whole thousandths, rounded up."""
    return int((money * PRICE_UNITS).to_integral_value(ROUND_CEILING))


def as_money(units: Decimal | int) -> Decimal:
    """Return whole thousandths as an amount of money."""
    return Decimal(units) / PRICE_UNITS
