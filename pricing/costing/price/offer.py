"""The price of a whole commission: each line's round unit price, and totals that add up exactly."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from math import ceil
from typing import NamedTuple

from pricing.costing.price.charge import Price, given, price
from pricing.costing.price.errors import PriceError
from pricing.costing.price.tax import tax_inside
from studio.money import ZERO


@dataclass(frozen=True)
class Terms:
    """How an offer is priced. Shares of one, [-]; amounts in [currency].

    ``margin`` is of the price before tax, ``markup`` of the cost; one of them is 0. ``fixed_fee``
    is taken once, ``listing_fee`` for each set; ``shipping`` is what it costs, before tax, and is
    charged without a margin or markup, but with the share of it that a channel keeps.
    """

    margin: Decimal
    tax_rate: Decimal
    tax_inclusive: bool
    rounding_step: Decimal
    minor_unit: Decimal
    minimum_charge: Decimal = ZERO
    rush: Decimal = ZERO
    discount: Decimal = ZERO
    percent_fee: Decimal = ZERO
    fixed_fee: Decimal = ZERO
    listing_fee: Decimal = ZERO
    fee_on_shipping: bool = False
    shipping: Decimal = ZERO
    markup: Decimal = ZERO


class ToPrice(NamedTuple):
    """So many of something and what they cost together, also in the cautious case, [currency].

    What is no set, such as a test tile, bears no fees that are taken by the set or once; what
    ``is_free`` is not charged for.
    """

    quantity: int
    cost: Decimal
    cautious: Decimal
    is_set: bool = True
    is_free: bool = False


@dataclass(frozen=True)
class OfferLine:
    """So many at one unit price, [currency]; ``shown`` has the tax in it if prices include it.

    ``is_set`` is whether it is handed over, so that it counts among what is sold.
    """

    quantity: int
    unit: Price
    shown: Decimal
    is_set: bool = True

    @property
    def amount(self) -> Decimal:
        """What the customer reads on the line, [currency]."""
        return self.shown * self.quantity


@dataclass(frozen=True)
class Offer:
    """Lines and totals, [currency].

    ``shipping`` is what the customer reads, with the tax in it if prices include it.
    ``gross = net + tax`` and ``net = cost + shipping as it costs + fees + profit``.
    """

    lines: tuple[OfferLine, ...]
    supplement: Decimal
    shipping: Decimal
    shipping_gross: Decimal
    net: Decimal
    tax: Decimal
    gross: Decimal
    fees: Decimal
    cost: Decimal
    profit: Decimal
    cautious_profit: Decimal

    @property
    def margin(self) -> Decimal:
        """Profit as a share of the price before tax, [-]."""
        return self.profit / self.net

    @property
    def markup(self) -> Decimal | None:
        """Profit as a share of what making and sending cost, [-]; None where that is nothing."""
        spent = self.net - self.fees - self.profit
        return self.profit / spent if spent else None

    @property
    def cautious_margin(self) -> Decimal:
        """The same when materials run to the cautious case, [-]."""
        return self.cautious_profit / self.net

    def at_cost(self, cost: Decimal, cautious: Decimal) -> "Offer":
        """Return the same offer with the profit that it leaves at another cost, [currency]."""
        return replace(
            self,
            cost=cost,
            profit=self.profit + self.cost - cost,
            cautious_profit=self.profit + self.cost - cautious,
        )


def offer(costs: Sequence[ToPrice], terms: Terms) -> Offer:
    """Return the offer for lines that cost so much each.

    Each unit price leaves the margin or markup after fees and is rounded up to the studio's step,
    so that the customer multiplies round numbers. Tax is worked out once, on the total. What the
    total lacks of the minimum charge is an amount of its own.

    Parameters
    ----------
    costs : sequence of ToPrice
        How many of each line [-], what they cost together and in the cautious case, [currency]; at
        least one of them is of sets
    terms : Terms
        Margin or markup, fees, tax and rounding, [-]

    Returns
    -------
    offer : Offer
        Every amount, [currency]

    Raises
    ------
    PriceError
        If margin and fees leave nothing of the price, or an argument is out of range.

    Examples
    --------
    Two at a cost of 20.00 together and a margin of half: 20.00 each, and 10 % tax on top.

    >>> terms = Terms(Decimal("0.5"), Decimal("0.1"), False, Decimal(1), Decimal("0.01"))
    >>> made = offer([ToPrice(2, Decimal(20), Decimal(22))], terms)
    >>> made.lines[0].amount, made.tax, made.gross, made.profit
    (Decimal('40'), Decimal('4.00'), Decimal('44.00'), Decimal('20.00'))
    """
    count = sum(one.quantity for one in costs if one.is_set)
    if not count:
        raise PriceError("A test tile is no order by itself: add the pieces that it is for.")
    fixed_each = terms.listing_fee + terms.fixed_fee / count
    lines = tuple(_line(one, fixed_each if one.is_set else ZERO, terms) for one in costs)
    goods = sum((line.amount for line in lines), ZERO)
    supplement = max(terms.minimum_charge - goods, ZERO)
    shipping = _displayed(_with_its_fee(terms), terms)
    net, tax, gross = _taxed(goods + supplement + shipping, terms)
    _, _, shipping_gross = _taxed(shipping, terms)
    taken_from = gross if terms.fee_on_shipping else gross - shipping_gross
    fees = taken_from * terms.percent_fee + terms.fixed_fee + terms.listing_fee * count
    fees = fees.quantize(terms.minor_unit, ROUND_HALF_UP)
    cost = sum((one.cost for one in costs), ZERO)
    cautious = sum((one.cautious for one in costs), ZERO)
    return Offer(
        lines=lines,
        supplement=supplement,
        shipping=shipping,
        shipping_gross=shipping_gross,
        net=net,
        tax=tax,
        gross=gross,
        fees=fees,
        cost=cost,
        profit=net - fees - terms.shipping - cost,
        cautious_profit=net - fees - terms.shipping - cautious,
    )


def _line(one: ToPrice, fixed_each: Decimal, terms: Terms) -> OfferLine:
    quantity = one.quantity
    if one.is_free:
        free = given(
            one.cost / quantity,
            cautious_cost=one.cautious / quantity,
            tax_inclusive=terms.tax_inclusive,
        )
        return OfferLine(quantity, free, free.gross, one.is_set)
    unit = price(
        one.cost / quantity,
        margin=terms.margin,
        markup=terms.markup,
        percent_fees=terms.percent_fee,
        fixed_fees=fixed_each,
        tax_rate=terms.tax_rate,
        tax_inclusive=terms.tax_inclusive,
        rounding_step=terms.rounding_step,
        minor_unit=terms.minor_unit,
        rush=terms.rush,
        discount=terms.discount,
        cautious_cost=one.cautious / quantity,
    )
    shown = unit.gross if terms.tax_inclusive else unit.net
    return OfferLine(quantity, unit, shown, one.is_set)


def _with_its_fee(terms: Terms) -> Decimal:
    """Return what to charge for shipping, before tax, so that its cost is left after fees.

    ``net = cost / (1 - fee · (1 + tax))``, rounded up to the minor unit.
    """
    if not (terms.shipping and terms.fee_on_shipping and terms.percent_fee):
        return terms.shipping
    left = 1 - Fraction(terms.percent_fee) * (1 + Fraction(terms.tax_rate))
    if left <= 0:
        raise PriceError("The fees on shipping leave nothing of it: charge no shipping, or less.")
    return ceil(Fraction(terms.shipping) / left / Fraction(terms.minor_unit)) * terms.minor_unit


def _displayed(net: Decimal, terms: Terms) -> Decimal:
    """Return an amount before tax as the customer reads it."""
    if not terms.tax_inclusive:
        return net
    return net + (net * terms.tax_rate).quantize(terms.minor_unit, ROUND_HALF_UP)


def _taxed(displayed: Decimal, terms: Terms) -> tuple[Decimal, Decimal, Decimal]:
    """Return net, tax and gross of an amount as the studio shows prices."""
    if terms.tax_inclusive:
        tax = tax_inside(displayed, terms.tax_rate, terms.minor_unit)
        return displayed - tax, tax, displayed
    tax = (displayed * terms.tax_rate).quantize(terms.minor_unit, ROUND_HALF_UP)
    return displayed, tax, displayed + tax
