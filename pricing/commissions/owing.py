"""What a commission's customer agreed to pay, has paid, and still owes.

Agreed is the accepted quote. Once sets are sold, what was asked for them stands in place of their
share of the quote, so that a price changed at hand-over is owed as it was changed. Shipping is owed
as it was quoted until all is handed over, in one go or in parts; then as it was charged.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from pricing.commissions import owing_then
from pricing.models import Commission, Payment, Quote, Sale
from studio.amounts import Total
from studio.models import Studio
from studio.money import ZERO, allocate, minor_places, to_payable

# By commission and currency: what was asked for sets, and shipping charged by sale; by commission,
# the lines of what is sold.
Kept = tuple[int | None, str]
SetPrices = defaultdict[Kept, Decimal]
Charged = defaultdict[Kept, dict[int, Decimal]]
Gone = defaultdict[int, list[int]]


@dataclass(frozen=True)
class CommissionAccount:
    """The money of one commission, tax included, in the ``currency`` that was agreed on.

    ``handed_over`` is what was asked for what has been sold of it, shipping included.
    """

    commission: Commission
    currency: str
    agreed: Decimal
    paid: Decimal
    deposit: Decimal
    handed_over: Decimal

    @property
    def locale(self) -> str:
        """The locale that its amounts are written in: the studio's."""
        return self.commission.studio.locale

    @property
    def owed(self) -> Decimal:
        """The amount still to be paid; below zero where the studio owes the customer."""
        return self.agreed - self.paid

    @property
    def deposit_owed(self) -> Decimal:
        """The part of the deposit still to be paid."""
        return max(min(self.deposit, self.agreed) - self.paid, ZERO)


def account(commission: Commission) -> CommissionAccount:
    """Return the `CommissionAccount` of one commission, read afresh, in four queries."""
    return accounts(commission.studio, [commission])[0]


def accounts(
    studio: Studio, commissions: Sequence[Commission] | None = None, day: date | None = None
) -> list[CommissionAccount]:
    """Return the accounts of all commissions that were accepted or paid for, in six queries.

    ``commissions`` narrows it to some, with or without a quote; then it is four. ``day`` is a past
    one at whose end they are told: quotes, payments and sales count from their own days on.
    """
    payments = Payment.objects.filter(
        studio=studio, **owing_then.up_to("booked_on", day)
    ).order_by()
    if commissions is None:
        accepted = owing_then.accepted_quotes(studio, day)
        ids = {quote.commission_id for quote in accepted}
        ids |= set(payments.values_list("commission", flat=True))
        rows = studio.commissions.filter(pk__in=ids).select_related("customer")
        commissions = list(rows)
    else:
        accepted = owing_then.accepted_quotes(studio, day, commissions)
    quotes = {quote.commission_id: quote for quote in accepted}
    payments = payments.filter(commission__in=commissions)
    sums = payments.values_list("commission", "currency").annotate(Total("amount"))
    paid: dict[Kept, Decimal] = {(key, currency): amount for key, currency, amount in sums}
    set_prices, shipping, gone = _sold(commissions, day)
    found: dict[int | None, str] = {}
    for key, currency in (*set_prices, *paid):
        found.setdefault(key, currency)
    kept_accounts = []
    for one in commissions:
        quote = quotes.get(one.pk)
        currency = quote.currency if quote else found.get(one.pk, studio.currency)
        kept = (one.pk, currency)
        moved = paid.get(kept, ZERO), set_prices[kept], shipping[kept]
        kept_accounts.append(_account(one, currency, quote, *moved, gone[one.pk]))
    return kept_accounts


def owed(studio: Studio, day: date | None = None) -> list[CommissionAccount]:
    """Return the accounts of which something is owed or to be given back, the most on top."""
    rows = [one for one in accounts(studio, day=day) if one.owed]
    return sorted(rows, key=lambda one: (-one.owed, one.commission.number))


def shares_left(quote: Quote, sold_lines: Iterable[int]) -> dict[int, list[Decimal]]:
    """Return {line: [price with tax]} of a quote for what of each line is not sold.

    The quote's total less its shipping is shared over the pieces ordered by their unit prices, so
    that together they bring exactly what was agreed; what is asked for a test tile, which nobody
    hands over, is in their prices. ``sold_lines`` names the line of each set that is sold.
    """
    units = [
        (line["line_id"], Decimal(line["unit_price"]))
        for line in quote.frozen["lines"]
        if not line.get("is_test")
        for _ in range(line["quantity"])
    ]
    gross = quote.gross - Decimal(quote.frozen["totals"]["shipping_gross"])
    shares = allocate(gross, [unit for _, unit in units], minor_places(quote.currency))
    prices: defaultdict[int, list[Decimal]] = defaultdict(list)
    for (line_id, _), share in zip(units, shares, strict=True):
        prices[line_id].append(share)
    for line_id in sold_lines:
        if prices[line_id]:
            prices[line_id].pop(0)
    return prices


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


def _sold(commissions: Sequence[Commission], day: date | None) -> tuple[SetPrices, Charged, Gone]:
    """Return by commission: what was asked for sets, shipping charged by sale, lines sold.

    What was asked and charged stands by currency too.
    """
    set_prices: SetPrices = defaultdict(lambda: ZERO)
    shipping: Charged = defaultdict(dict)
    gone: Gone = defaultdict(list)
    standing = owing_then.standing_lines(day)
    lines = standing.filter(sale__commission__in=commissions)
    for line in lines.select_related("sale", "piece_set"):
        key = (line.sale.commission_id, line.sale.currency)
        set_prices[key] += line.price
        shipping[key][line.sale_id] = line.sale.shipping_charged
    ours = standing.filter(piece_set__line__commission__in=commissions)
    for line_id, made_for in ours.values_list("piece_set__line", "piece_set__line__commission"):
        gone[made_for].append(line_id)
    return set_prices, shipping, gone


def _account(
    commission: Commission,
    currency: str,
    quote: Quote | None,
    paid: Decimal,
    set_price: Decimal,
    charged: dict[int, Decimal],
    gone: Iterable[int],
) -> CommissionAccount:
    handed_over = set_price + sum(charged.values(), ZERO)
    agreed, deposit = handed_over, ZERO
    if quote is not None:
        deposit = quote.deposit
        unsold = [share for shares in shares_left(quote, gone).values() for share in shares]
        agreed += sum(unsold, ZERO)
        if unsold or not charged:
            agreed += _uncharged(quote, charged.values())
    return CommissionAccount(commission, currency, agreed, paid, deposit, handed_over)
