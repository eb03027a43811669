"""What a commission's accepted quote says of its hand-over: prices, shipping, the channel."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from pricing.commissions.owing import Shipping, shares_left, shipping_left
from pricing.models import Channel, Commission, PieceSet, Quote, Sale, SaleLine
from studio.money import ZERO

Priced = list[tuple[PieceSet, Decimal]]


@dataclass(frozen=True)
class HandOver:
    """What a commission's accepted quote says of its unsold sets: (set, price with tax) pairs.

    With the shipping still to be charged, and the channel whose fees are in the price; for a price
    with no fees in it the one channel that takes none, if there is just one.
    """

    quote: Quote
    items: Priced
    shipping: Shipping
    channel: Channel | None


def hand_over(commission: Commission) -> HandOver | None:
    """Return what is left to hand over of a commission, or None where no quote was accepted."""
    quote: Quote | None = commission.accepted_quote
    if quote is None:
        return None
    named = quote.frozen.get("channel")
    channels = Channel.objects.filter(studio=commission.studio_id, archived_at=None)
    fitting = [one for one in channels if (one.name == named if named else one.is_free)]
    return HandOver(
        quote,
        priced(commission, quote),
        shipping_left(quote, _standing(commission)),
        fitting[0] if len(fitting) == 1 else None,
    )


def priced(commission: Commission, quote: Quote) -> Priced:
    """Return [(set, price with tax)] for the unsold sets of a commission.

    Together they bring exactly what was agreed, see `shares_left`.
    """
    sets = PieceSet.objects.for_sale().filter(line__commission=commission).order_by("number")
    sold = SaleLine.objects.filter(is_live=True, piece_set__line__commission=commission)
    shares = shares_left(quote, sold.values_list("piece_set__line", flat=True))
    return [
        (one, shares[one.line_id].pop(0))
        for one in sets
        if one.line_id is not None and shares.get(one.line_id)
    ]


def shipping_of(
    commission: Commission | None,
    quote: Quote | None,
    charged: Decimal | None,
    paid: Decimal | None,
) -> Shipping:
    """Return the shipping of a sale as it was told, or else as it was agreed."""
    agreed = Shipping(ZERO, ZERO)
    if commission and quote and charged is None:
        agreed = shipping_left(quote, _standing(commission))
    return Shipping(
        agreed.charged if charged is None else charged, agreed.paid if paid is None else paid
    )


def _standing(commission: Commission) -> Iterable[Sale]:
    return commission.sales.filter(refunded_at=None)
