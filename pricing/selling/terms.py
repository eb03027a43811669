"""What is taken off a sale: the fees of its channel, and the tax in it."""

from collections.abc import Sequence
from decimal import Decimal

from pricing.costing import price
from pricing.models import Channel, PieceSet, Quote
from studio.models import Studio
from studio.money import ZERO, to_payable


def tax_rule(studio: Studio, quote: Quote | None) -> tuple[Decimal, bool]:
    """Return the tax rate of a sale, [-], and whether prices are shown with the tax in them."""
    if quote is None:
        return studio.tax_rate, studio.tax_inclusive
    settings = quote.frozen["settings"]
    return Decimal(settings["tax_rate"]), settings["tax_inclusive"]


def channel_fees(
    currency: str,
    channel: Channel,
    items: Sequence[tuple[PieceSet, Decimal]],
    shipping_charged: Decimal,
    share: Decimal | None,
) -> Decimal:
    """Return what a channel keeps of a sale, [currency]; ``share`` is its share, if agreed."""
    share = channel.percent_fee if share is None else share
    fixed = channel.fixed_fee + channel.listing_fee * len(items)
    goods = sum((amount for _, amount in items), ZERO)
    fees = price.fees(goods, share, fixed, shipping_charged, channel.fee_on_shipping)
    return to_payable(fees, currency)
