"""What a commission's customer agreed to pay, has paid, and still owes.

Agreed is the accepted quote. Once sets are sold, what was asked for them stands in place of their
share of the quote, so that a price changed at hand-over is owed as it was changed. Shipping is owed
as it was quoted until all is handed over, in one go or in parts; then as it was charged.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from pricing.models import Commission, Payment, Quote, Sale, SaleLine
from studio.amounts import Total
from studio.models import Studio
from studio.money import ZERO, allocate, minor_places, to_payable

# By commission: what was asked for sets, shipping charged by sale, and the lines of what is sold.
Asked = defaultdict[int | None, Decimal]
Charged = defaultdict[int | None, dict[int, Decimal]]
Gone = defaultdict[int, list[int]]


@dataclass(frozen=True)
class Account:
    """The money of one commission, tax included, [currency].

    ``handed_over`` is what was asked for what has been sold of it, shipping included.
    """

    commission: Commission
    agreed: Decimal
    paid: Decimal
    deposit: Decimal
    handed_over: Decimal

    @property
    def owed(self) -> Decimal:
        """What is still to be paid; below zero where the studio owes the customer."""
        return self.agreed - self.paid

    @property
    def deposit_owed(self) -> Decimal:
        """What of the deposit is still to be paid."""
        return max(min(self.deposit, self.agreed) - self.paid, ZERO)


def account(commission: Commission) -> Account:
    """Return the `Account` of one commission, read afresh, in four queries."""
    return accounts(commission.studio, [commission])[0]


def accounts(studio: Studio, commissions: Sequence[Commission] | None = None) -> list[Account]:
    """Return the `Account` of each commission that was accepted or paid for, in seven queries.

    ``commissions`` narrows it to some, with or without a quote; then it is four.
    """
    if commissions is None:
        ids = set(Quote.objects.filter(studio=studio, status="accepted").values_list("commission"))
        ids |= set(Payment.objects.filter(studio=studio).values_list("commission"))
        rows = studio.commissions.filter(pk__in=[pk for (pk,) in ids]).select_related("customer")
        commissions = list(rows)
    quotes = {
        quote.commission_id: quote
        for quote in Quote.objects.filter(commission__in=commissions, status="accepted")
    }
    paid = dict(
        Payment.objects.filter(commission__in=commissions)
        .order_by()
        .values_list("commission")
        .annotate(Total("amount"))
    )
    sold, shipping, gone = _sold(commissions)
    return [
        _account(
            one, quotes.get(one.pk), paid.get(one.pk, ZERO), sold[one.pk], shipping, gone[one.pk]
        )
        for one in commissions
    ]


def shares_left(quote: Quote, sold_lines: Iterable[int]) -> dict[int, list[Decimal]]:
    """Return {line: [price with tax]} of a quote for what of each line is not sold.

    The quote's total less its shipping is shared over the pieces ordered by their unit prices, so
    that together they bring exactly what was agreed. ``sold_lines`` names the line of each set that
    is sold.
    """
    units = [
        (line["line_id"], Decimal(line["unit_price"]))
        for line in quote.frozen["lines"]
        for _ in range(line["quantity"])
    ]
    gross = quote.gross - Decimal(quote.frozen["totals"]["shipping_gross"])
    shares = allocate(gross, [unit for _, unit in units], minor_places(quote.currency))
    left: defaultdict[int, list[Decimal]] = defaultdict(list)
    for (line_id, _), share in zip(units, shares, strict=True):
        left[line_id].append(share)
    for line_id in sold_lines:
        if left[line_id]:
            left[line_id].pop(0)
    return left


@dataclass(frozen=True)
class Shipping:
    """What a customer is charged for shipping, tax included, and what it costs, [currency]."""

    charged: Decimal
    paid: Decimal


def shipping_left(quote: Quote, sales: Iterable[Sale]) -> Shipping:
    """Return what of a quote's `Shipping` those sales have not taken, the most nothing.

    What it costs is what the quote counted on. Once all is charged nothing more is sent.
    """
    sales = list(sales)
    totals = {name: Decimal(text) for name, text in quote.frozen["totals"].items()}
    charged = _uncharged(quote, [sale.shipping_charged for sale in sales])
    if not charged:
        return Shipping(ZERO, ZERO)
    cost = totals["net"] - totals["fees"] - totals["cost"] - totals["profit"]
    paid = to_payable(cost, quote.currency) - sum((sale.shipping_paid for sale in sales), ZERO)
    return Shipping(charged, max(paid, ZERO))


def _uncharged(quote: Quote, charged: Iterable[Decimal]) -> Decimal:
    """Return what of the shipping of a quote, tax included, was not charged yet, [currency]."""
    agreed = Decimal(quote.frozen["totals"]["shipping_gross"])
    return max(agreed - sum(charged, ZERO), ZERO)


def _sold(commissions: Sequence[Commission]) -> tuple[Asked, Charged, Gone]:
    """Return by commission: what was asked for sets, shipping charged by sale, lines sold."""
    asked: Asked = defaultdict(lambda: ZERO)
    shipping: Charged = defaultdict(dict)
    gone: Gone = defaultdict(list)
    lines = SaleLine.objects.filter(is_live=True, sale__commission__in=commissions)
    for line in lines.select_related("sale", "piece_set"):
        key = line.sale.commission_id
        asked[key] += line.price
        shipping[key][line.sale_id] = line.sale.shipping_charged
    ours = SaleLine.objects.filter(is_live=True, piece_set__line__commission__in=commissions)
    for line_id, key in ours.values_list("piece_set__line", "piece_set__line__commission"):
        gone[key].append(line_id)
    return asked, shipping, gone


def _account(
    commission: Commission,
    quote: Quote | None,
    paid: Decimal,
    asked: Decimal,
    shipping: Charged,
    gone: Iterable[int],
) -> Account:
    charged = shipping[commission.pk]
    handed_over = asked + sum(charged.values(), ZERO)
    agreed, deposit = handed_over, ZERO
    if quote is not None:
        deposit = quote.deposit
        left = [share for shares in shares_left(quote, gone).values() for share in shares]
        agreed += sum(left, ZERO)
        if left or not charged:
            agreed += _uncharged(quote, charged.values())
    return Account(commission, agreed, paid, deposit, handed_over)
