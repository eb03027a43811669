"""What was earned: each set sold, and the same rows cut by size, technique, palette and channel."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from pricing.costing.piece_costs import NOTHING, CostBook, Spent, cost_book
from pricing.costing.price import Profit, profit, tax_inside
from pricing.models import FinishedPiece, PieceSet, Sale, SaleLine
from studio.models import Studio
from studio.money import ZERO, allocate, minor_unit

TAKEN_APART = ("Taken apart", "Taken apart", "Taken apart", 0)
# Of a set: size, technique, palette, and how many pieces.
Kind = tuple[str, str, str, int]
CUTS = ("size", "technique", "palette", "channel", "customer", "month")


@dataclass(frozen=True)
class SetProfit:
    """One set in one sale. Amounts in [currency]; ``pieces`` is how many it holds."""

    piece_set: PieceSet
    sale: Sale
    size: str
    technique: str
    palette: str
    channel: str
    customer: str
    sold_on: date
    pieces: int
    profit: Profit

    @property
    def month(self) -> str:
        """Year and month of the sale, such as “2026-03”."""
        return f"{self.sold_on:%Y-%m}"


@dataclass(frozen=True)
class Cut:
    """All sets that share one size, technique or channel."""

    label: str
    sets: int
    profit: Profit


def set_profit(
    studio: Studio, book: CostBook | None = None, names: Mapping[int, Kind] | None = None
) -> list[SetProfit]:
    """Return a `SetProfit` for each set sold, newest sale first, in a fixed number of queries.

    Revenue is the price paid with the set's share of shipping charged; tax, fees and shipping paid
    are the sale's, shared by price so that they add up to it exactly; materials, labour and
    overhead are what the ledger and the bench say it took. A refunded sale earns nothing and costs
    what the channel kept and the shipping; its sets cost only when they were written off. ``book``
    and ``names`` are the studio's `cost_book` and `described_sets`, where they are at hand.
    """
    book = book or cost_book(studio)
    names = described_sets(studio) if names is None else names
    rows: list[SetProfit] = []
    by_sale: defaultdict[Sale, list[SaleLine]] = defaultdict(list)
    borne: set[int] = set()
    lines = SaleLine.objects.filter(sale__studio=studio).select_related(
        "piece_set", "sale__channel", "sale__customer"
    )
    for line in lines.order_by("-sale__number", "pk"):
        by_sale[line.sale].append(line)
    for sale, sold in by_sale.items():
        sums = _of_sale(studio, sale, sold)
        for line, amounts in zip(sold, sums, strict=True):
            rows.append(_row(line, amounts, _cost_of(line, book, borne), names))
    return rows


def _cost_of(line: SaleLine, book: CostBook, borne: set[int]) -> Spent:
    """Return what a sale's set cost; a set sold more than once costs in its newest sale only."""
    if line.piece_set_id in borne or not (line.is_live or line.piece_set.written_off_at):
        return NOTHING
    borne.add(line.piece_set_id)
    return book.by_set.get(line.piece_set_id, NOTHING)


def cut(rows: Iterable[SetProfit], by: str) -> list[Cut]:
    """Add rows up by one of `CUTS`, most profit first; the cuts of all rows have one total."""
    groups: defaultdict[str, list[SetProfit]] = defaultdict(list)
    for row in rows:
        groups[getattr(row, by)].append(row)
    cuts = [Cut(label, len(group), total(group)) for label, group in groups.items()]
    return sorted(cuts, key=lambda one: (-one.profit.profit, one.label))


def total(rows: Iterable[SetProfit]) -> Profit:
    """Return the profit of all rows together."""
    return sum((row.profit for row in rows), profit(ZERO))


@dataclass(frozen=True)
class Whereabouts:
    """Where the cost of everything made is: sold, on the shelf, or lost."""

    sold: Spent
    for_sale: Spent
    loose: Spent
    lost: Spent

    @property
    def total(self) -> Spent:
        """What the acts of making took, in materials from the ledger and in work."""
        return self.sold + self.for_sale + self.loose + self.lost


def whereabouts(studio: Studio) -> Whereabouts:
    """Return where cost went; its materials add up to what pours, topcoats and packing took."""
    book = cost_book(studio)
    sold, shelf, lost = NOTHING, NOTHING, book.lost
    sets = PieceSet.objects.filter(studio=studio, unpacked_at=None).with_sold()
    for key, is_sold, written_off in sets.values_list("pk", "is_sold", "written_off_at"):
        if written_off:
            lost += book.by_set[key]
        elif is_sold:
            sold += book.by_set[key]
        else:
            shelf += book.by_set[key]
    return Whereabouts(sold, shelf, book.loose, lost)


def _of_sale(
    studio: Studio, sale: Sale, lines: Sequence[SaleLine]
) -> list[tuple[Decimal, Decimal, Decimal, Decimal]]:
    """Return (revenue, tax, fees, shipping paid) of each line of a sale, adding up exactly."""
    weights = [line.price for line in lines]
    if not any(weights):
        weights = [Decimal(1)] * len(lines)
    if sale.refunded_at:
        charged = tax = ZERO
        fees = sale.fees_kept
    else:
        charged, fees = sale.shipping_charged, sale.fees
        gross = sum((line.price for line in lines), charged)
        tax = tax_inside(gross, sale.tax_rate, minor_unit(studio.currency))
    amounts = [charged, tax, fees, sale.shipping_paid]
    shared = zip(*(allocate(amount, weights, 3) for amount in amounts), strict=True)
    return [
        ((ZERO if sale.refunded_at else line.price) + ship, tax, fee, paid)
        for line, (ship, tax, fee, paid) in zip(lines, shared, strict=True)
    ]


def _row(
    line: SaleLine,
    amounts: tuple[Decimal, Decimal, Decimal, Decimal],
    spent: Spent,
    names: Mapping[int, Kind],
) -> SetProfit:
    revenue, tax, fees, shipping = amounts
    size, technique, palette, pieces = names.get(line.piece_set_id, TAKEN_APART)
    sale = line.sale
    return SetProfit(
        piece_set=line.piece_set,
        sale=sale,
        size=size,
        technique=technique,
        palette=palette,
        channel=sale.channel.name,
        customer=sale.customer.name if sale.customer else "",
        sold_on=sale.sold_on,
        pieces=pieces,
        profit=profit(
            revenue,
            tax=tax,
            fees=fees,
            materials=spent.materials + shipping,
            labour=spent.labour,
            overhead=spent.overhead,
            minutes=spent.minutes,
        ),
    )


def described_sets(studio: Studio) -> dict[int, Kind]:
    """Return {set: (size, technique, palette, pieces)}; several of one kind are joined by “and”."""
    sets = PieceSet.objects.filter(studio=studio, unpacked_at=None).prefetch_related(
        "pieces__pour__surface", "pieces__pour__technique", "pieces__pour__palette"
    )
    return {one.pk: _described(list(one.pieces.all())) for one in sets}


def _described(pieces: Sequence[FinishedPiece]) -> Kind:
    pours = [piece.pour for piece in pieces]
    columns = (
        [pour.surface.name for pour in pours],
        [pour.technique.name for pour in pours],
        [pour.palette.name for pour in pours],
    )
    size, technique, palette = (" and ".join(dict.fromkeys(names)) for names in columns)
    return size, technique, palette, len(pieces)
