"""What finished sets and pieces on hand are expected to bring, from prices on record."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from pricing.commissions.owing import shares_left
from pricing.commissions.owing_then import accepted_quotes, standing_lines
from pricing.costing.price import fees, tax_inside
from pricing.models import Channel, Commission, PieceSet
from pricing.selling.kinds import TAKEN_APART, Kind, as_booked
from studio.models import Studio
from studio.money import ZERO, minor_unit, to_payable

AGREED = "agreed in the accepted quote"
PRODUCT = "price of the product"
LAST_SOLD = "price of the last one sold like it"
APPRAISED = "appraised"
NO_PRICE = "no price known"

# By line: what each set of it is to bring, and the channel agreed on.
AgreedPrices = dict[int | None, tuple[list[Decimal], Channel | None]]


@dataclass(frozen=True)
class ExpectedPrice:
    """A price with tax, what the tax and the fees to sell take of it, and where it is from."""

    price: Decimal
    tax: Decimal
    fees: Decimal
    source: str

    @property
    def net(self) -> Decimal:
        """What is left of it, [currency]."""
        return self.price - self.tax - self.fees


class PricesOnRecord:
    """The prices a studio has on record, read once, in four queries.

    ``kinds`` is {set: (size, technique, palette, pieces)} of every set. What a set brings is what
    its commission's accepted quote says, else the price of the product that is like it, else what
    the last set like it was sold for; fees are those of the channel last sold
    through. Prices in another currency than the studio's of today say nothing. ``day`` is a past
    one, at whose end agreed and last prices are told; a product has only its price of today.
    """

    def __init__(
        self,
        studio: Studio,
        kinds: Mapping[int, Kind],
        waiting: Iterable[PieceSet],
        day: date | None = None,
    ) -> None:
        self.studio, self.kinds, self.day = studio, kinds, day
        self.agreed = self._agreed(waiting)
        self.products = {
            (one.surface.name, one.technique.name, one.palette.name, one.pieces_each): one.price
            for one in studio.products.filter(archived_at=None, price__isnull=False)
            .select_related("surface", "technique", "palette")
            .order_by("-pk")
            if one.price is not None
        }
        lines = standing_lines(day).filter(sale__studio=studio, sale__currency=studio.currency)
        sold = list(lines.select_related("sale__channel").order_by("-sale__sold_on", "-pk"))
        self.last_sold: dict[Kind, Decimal] = {}
        for line in sold:
            kind = kinds.get(line.piece_set_id)
            if kind is None and line.booked:  # given back since, and taken apart
                kind = as_booked(line.booked)
            if kind:
                self.last_sold.setdefault(kind, line.price)
        self.channel = sold[0].sale.channel if sold else None

    def of_set(self, piece_set: PieceSet) -> ExpectedPrice | None:
        """Return what a set is expected to bring, or None."""
        agreed = self.agreed.get(piece_set.line_id)
        if agreed:
            price, channel = agreed
            return self._expected(price.pop(0) if price else None, AGREED, channel)
        kind = self.kinds.get(piece_set.pk, TAKEN_APART)
        if kind in self.products:
            return self._expected(self.products[kind], PRODUCT, self.channel)
        return self._expected(self.last_sold.get(kind), LAST_SOLD, self.channel)

    def of_piece(self, kind: tuple[str, str, str]) -> ExpectedPrice | None:
        """Return what one loose piece of (size, technique, palette) is expected to bring.

        It is the least a piece in a set of its kind brings, so that no piece is counted too high.
        """
        for prices, source in ((self.products, PRODUCT), (self.last_sold, LAST_SOLD)):
            each = [price / key[3] for key, price in prices.items() if key[:3] == kind]
            if each:
                price = to_payable(min(each), self.studio.currency)
                return self._expected(price, source, self.channel)
        return None

    def _agreed(self, waiting: Iterable[PieceSet]) -> AgreedPrices:
        """Return {line: (what each set of it is to bring, the channel agreed on)}."""
        lines = [one.line_id for one in waiting if one.line_id]
        ordered = Commission.objects.filter(lines__in=lines)
        quotes = accepted_quotes(self.studio, self.day, ordered)
        channels = {one.name: one for one in Channel.objects.filter(studio=self.studio)}
        sold = standing_lines(self.day).filter(piece_set__line__in=lines)
        sold_lines = list(sold.values_list("piece_set__line", flat=True))
        return {
            line: (shares, channels.get(quote.frozen.get("channel")))
            for quote in quotes
            if quote.currency == self.studio.currency
            for line, shares in shares_left(quote, sold_lines).items()
        }

    def _expected(
        self, price: Decimal | None, source: str, channel: Channel | None
    ) -> ExpectedPrice | None:
        if price is None:
            return None
        tax = tax_inside(price, self.studio.tax_rate, minor_unit(self.studio.currency))
        selling_fees = ZERO
        if channel:
            selling_fees = fees(price, channel.percent_fee, channel.fixed_fee + channel.listing_fee)
        return ExpectedPrice(price, tax, to_payable(selling_fees, self.studio.currency), source)
