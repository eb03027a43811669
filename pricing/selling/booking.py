"""What each set of a sale brings, posted on the day it is sold and on the day it is given back."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from inventory.stock.shelf import local_day
from pricing.costing.keeping import keep_all_costs, post, post_losses
from pricing.costing.price import tax_inside
from pricing.models import ConsignedSet, PieceSet, Posting, Sale, SaleLine
from pricing.models.cost import COST, NOTHING, ActualCost
from studio.amounts import Total
from studio.models import Studio
from studio.money import ZERO, allocate, minor_unit

Kind = Posting.Kind


@dataclass(frozen=True)
class Brought:
    """What one set of a sale brings beside its own cost, [currency]."""

    revenue: Decimal
    tax: Decimal
    fees: Decimal
    shipping: Decimal


def brought(sale: Sale, lines: Sequence[SaleLine]) -> list[Brought]:
    """Return by line what a sale brings: the price with its share of the shipping charged.

    Tax, fees and shipping paid are the sale's, shared by price so that they add up to it exactly.
    """
    charged = _shared(sale.shipping_charged, lines)
    tax = _shared(_tax(sale, lines), lines)
    rest = zip(tax, _shared(sale.fees, lines), _shared(sale.shipping_paid, lines), strict=True)
    return [
        Brought(line.price + more, *amounts)
        for line, more, amounts in zip(lines, charged, rest, strict=True)
    ]


def given_back(sale: Sale, lines: Sequence[SaleLine]) -> list[Brought]:
    """Return by line what a refund takes back: all but the shipping paid and the fees kept."""
    fees = _shared(sale.fees - sale.fees_kept, lines)
    return [
        Brought(-one.revenue, -one.tax, -back, ZERO)
        for one, back in zip(brought(sale, lines), fees, strict=True)
    ]


def book_sale(sale: Sale, lines: Sequence[SaleLine], costs: Mapping[int, ActualCost]) -> None:
    """Post each line of a sale on its day; ``costs`` is what each set has cost, by its key."""
    own = [costs.get(line.piece_set_id, NOTHING) for line in lines]
    rows = zip(lines, brought(sale, lines), own, strict=True)
    post(_posting(sale, line, Kind.SOLD, sums, cost) for line, sums, cost in rows)


def book_refund(sale: Sale, lines: Sequence[SaleLine]) -> None:
    """Post each line of a refund on its day; the sets are back at all that was posted as cost."""
    own = posted_costs(lines)
    rows = zip(lines, given_back(sale, lines), strict=True)
    post(_posting(sale, line, Kind.REFUNDED, sums, NOTHING - own[line.pk]) for line, sums in rows)


def posted_costs(lines: Sequence[SaleLine]) -> dict[int, ActualCost]:
    """Return what was posted as the cost of the set of each line, by the line's key."""
    totals = {f"sum_{name}": Total(name) for name in COST}
    rows = Posting.objects.filter(line__in=lines).order_by().values_list("line")
    return {key: ActualCost(*cost) for key, *cost in rows.annotate(**totals)}


def _posting(sale: Sale, line: SaleLine, kind: str, sums: Brought, cost: ActualCost) -> Posting:
    day = sale.refunded_on if kind == Kind.REFUNDED else sale.sold_on
    assert day is not None  # a refund has its day
    return Posting(
        studio_id=sale.studio_id,
        line=line,
        kind=kind,
        day=day,
        currency=sale.currency,
        **vars(sums),
        **vars(cost),
    )


def _tax(sale: Sale, lines: Sequence[SaleLine]) -> Decimal:
    gross = sum((line.price for line in lines), sale.shipping_charged)
    return tax_inside(gross, sale.tax_rate, minor_unit(sale.currency))


def _shared(amount: Decimal, lines: Sequence[SaleLine]) -> list[Decimal]:
    weights = [line.price for line in lines]
    return allocate(amount, weights if any(weights) else [Decimal(1)] * len(lines), 3)


def book_all(studio: Studio) -> None:
    """Write what everything in a studio costs and post all that was sold, given back and lost.

    It is for what an archive of before brings, which has no postings; nobody works in the studio.
    """
    keep_all_costs(studio)
    sets = {one.pk: one for one in studio.sets.all()}
    costs = {key: NOTHING if one.unpacked_at else one.spent for key, one in sets.items()}
    lines = SaleLine.objects.filter(sale__studio=studio).select_related("sale")
    by_sale: defaultdict[Sale, list[SaleLine]] = defaultdict(list)
    for line in lines.order_by("sale", "pk"):
        by_sale[line.sale].append(line)
    for sale, its in by_sale.items():
        book_sale(
            sale, its, costs | {one.piece_set_id: _cost_then(one) for one in its if one.booked}
        )
        if sale.refunded_on:
            book_refund(sale, its)
    for one in sets.values():
        if one.unpacked_at:
            day = local_day(studio, one.unpacked_at)
            post_losses([one], Kind.PACKING, day, studio.currency)
        elif one.written_off_at:
            _post_gone(one, local_day(studio, one.written_off_at))


def _cost_then(line: SaleLine) -> ActualCost:
    """Return what a set had cost when it was refunded, as its line kept it before the postings."""
    return ActualCost(*(Decimal((line.booked or {}).get(name, "0")) for name in COST))


def _post_gone(piece_set: PieceSet, day: date) -> None:
    """Post a set that is written off as lost, on the day and in the currency of its last paper."""
    at_shop = piece_set.consigned.filter(outcome=ConsignedSet.Outcome.LOST).first()
    line = piece_set.sale_lines.filter(is_live=False).order_by("sale__refunded_at").last()
    if at_shop:
        day, currency = at_shop.settled_on or day, at_shop.consignment.currency
        post_losses([piece_set], Kind.AT_SHOPS, day, currency)
    else:
        day = (line and line.sale.refunded_on) or day
        currency = line.sale.currency if line else piece_set.studio.currency
        post_losses([piece_set], Kind.WRITTEN_OFF, day, currency)
