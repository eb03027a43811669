"""What was earned: each set sold or refunded, and the rows cut by size, technique, month and more.

Amounts of different currencies are never added: each sale keeps its own, and what its sets cost is
taken to be in it, since stock is not converted when a studio changes its currency.
"""

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import QuerySet

from pricing.commissions.owing_then import standing_lines, up_to
from pricing.costing.price import Profit, profit
from pricing.models import FinishedPiece, PieceSet, Posting, Sale
from pricing.models.cost import COLUMNS, COST, ActualCost
from pricing.selling.kinds import TAKEN_APART, as_booked, described_sets
from studio.amounts import Total
from studio.models import Studio
from studio.money import ZERO
from studio.periods import ALWAYS, Period

Kind = Posting.Kind
CUTS = ("size", "technique", "palette", "channel", "customer", "month")


@dataclass(frozen=True)
class SetProfit:
    """One set in one sale, or in its refund. Amounts in [currency]; ``pieces`` is how many it has.

    ``kind`` is one of `Posting.OF_SALES`: what a set came to cost after it was sold is a row of the
    day on which it did. ``day`` is the one it counts on.
    """

    piece_set: PieceSet
    sale: Sale
    kind: str
    day: date
    size: str
    technique: str
    palette: str
    channel: str
    customer: str
    pieces: int
    profit: Profit

    @property
    def is_refund(self) -> bool:
        """Whether the money was given back."""
        return self.kind == Kind.REFUNDED

    @property
    def is_late(self) -> bool:
        """Whether it is what the set came to cost after it was sold."""
        return self.kind == Kind.LATE

    @property
    def currency(self) -> str:
        """ISO 4217 code of the sale."""
        return self.sale.currency

    @property
    def sold_on(self) -> date:
        """The day of the sale."""
        return self.sale.sold_on

    @property
    def month(self) -> str:
        """Year and month of the day it counts on, such as “2026-03”."""
        return f"{self.day:%Y-%m}"


@dataclass(frozen=True)
class Cut:
    """All rows of one currency that share one size, technique or channel.

    ``sets`` is how many were sold, ``refunded`` how many of the rows are refunds.
    """

    label: str
    currency: str
    sets: int
    refunded: int
    profit: Profit


def postings_of_sales(studio: Studio, period: Period = ALWAYS) -> QuerySet[Posting]:
    """Return what was posted of sales in a period, the newest first."""
    rows = Posting.objects.filter(studio=studio, kind__in=Posting.OF_SALES, **period.of("day"))
    return _with_lines(rows)


def _with_lines(postings: QuerySet[Posting]) -> QuerySet[Posting]:
    rows = postings.select_related("line__piece_set", "line__sale__channel", "line__sale__customer")
    return rows.order_by("-day", "-line__sale__number", "kind", "line", "pk")


def set_profit(studio: Studio, period: Period = ALWAYS) -> list[SetProfit]:
    """Return a `SetProfit` for each set sold and each given back in a period, the newest first.

    A sale stays on its day as it was; its refund is a row of its own day: the money is given back,
    with the tax and what the channel gave back of its fees, and the set is back at its cost,
    whether on the shelf or among what is lost. It takes two queries.
    """
    return _all_told(postings_of_sales(studio, period))


def of_sale(sale: Sale) -> list[SetProfit]:
    """Return the rows of one sale, the newest first, in two queries."""
    return _all_told(_with_lines(Posting.objects.filter(line__sale=sale)))


def _all_told(postings: QuerySet[Posting]) -> list[SetProfit]:
    lines = postings.order_by().values("line")
    return told(
        postings, PieceSet.objects.filter(sale_lines__in=lines, sale_lines__booked__isnull=True)
    )


def sales_standing(studio: Studio, since: date, until: date | None = None) -> QuerySet[Posting]:
    """Return what was posted of sets sold after a day, in its currency, and not refunded.

    ``until`` is a past day at whose end it is told.
    """
    return Posting.objects.filter(
        studio=studio,
        day__gt=since,
        currency=studio.currency,
        line__in=standing_lines(until),
        line__sale__sold_on__gt=since,
        **up_to("day", until),
    )


def profit_by(postings: QuerySet[Posting], *names: str) -> dict[tuple[Any, ...], Profit]:
    """Return the profit of postings of sales by the values of some fields, in one query."""
    columns = ("revenue", "tax", "fees", "shipping", *COST)
    totals = {f"sum_{column}": Total(column) for column in columns}
    found = {}
    for row in postings.order_by().values(*names).annotate(**totals):
        sums = {column: row[f"sum_{column}"] for column in columns}
        sums["materials"] += sums.pop("shipping")
        found[tuple(row[name] for name in names)] = Profit(**sums)
    return found


def told(postings: Iterable[Posting], sets: QuerySet[PieceSet]) -> list[SetProfit]:
    """Return postings of sales, loaded with their lines, as rows to show; ``sets`` are theirs."""
    names = described_sets(sets)
    rows = []
    for posting in postings:
        line = posting.line
        assert line is not None  # a posting of a sale is of a line
        named = as_booked(line.booked) if line.booked else names.get(line.piece_set_id, TAKEN_APART)
        size, technique, palette, pieces = named
        sale = line.sale
        rows.append(
            SetProfit(
                piece_set=line.piece_set,
                sale=sale,
                kind=posting.kind,
                day=posting.day,
                size=size,
                technique=technique,
                palette=palette,
                channel=sale.channel.name,
                customer=sale.customer.name if sale.customer else "",
                pieces=pieces,
                profit=profit(
                    posting.revenue,
                    tax=posting.tax,
                    fees=posting.fees,
                    materials=posting.materials + posting.shipping,
                    labour=posting.labour,
                    overhead=posting.overhead,
                    minutes=posting.minutes,
                ),
            )
        )
    return rows


def cut(rows: Iterable[SetProfit], by: str) -> list[Cut]:
    """Add rows up by one of `CUTS`, by currency and then the most profit first.

    The cuts of all rows of a currency have one total.
    """
    groups: defaultdict[tuple[str, str], list[SetProfit]] = defaultdict(list)
    for row in rows:
        groups[row.currency, getattr(row, by)].append(row)
    cuts = []
    for (currency, label), group in groups.items():
        kinds = Counter(row.kind for row in group)
        sold, refunded = kinds[Kind.SOLD], kinds[Kind.REFUNDED]
        cuts.append(Cut(label, currency, sold, refunded, total(group)))
    return sorted(cuts, key=lambda one: (one.currency, -one.profit.profit, one.label))


def total(rows: Iterable[SetProfit]) -> Profit:
    """Return the profit of all rows together, which are of one currency."""
    return sum((row.profit for row in rows), profit(ZERO))


def of_currencies(rows: Iterable[SetProfit], first: str) -> dict[str, list[SetProfit]]:
    """Return the rows by currency: the studio's own ``first``, then the others by their codes."""
    groups: defaultdict[str, list[SetProfit]] = defaultdict(list)
    for row in rows:
        groups[row.currency].append(row)
    return {code: groups[code] for code in sorted(groups, key=lambda code: (code != first, code))}


@dataclass(frozen=True)
class Whereabouts:
    """The cost of everything made, by where it is now: sold, on the shelf, loose or lost."""

    sold: ActualCost
    for_sale: ActualCost
    loose: ActualCost
    lost: ActualCost

    @property
    def total(self) -> ActualCost:
        """What all pours, topcoats and packing took, in materials and in work."""
        return self.sold + self.for_sale + self.loose + self.lost


def whereabouts(studio: Studio) -> Whereabouts:
    """Return the cost by where it is; its materials add up to what all acts of making took."""
    postings = Posting.objects.filter(studio=studio)
    waiting = PieceSet.objects.filter(studio=studio).unsold()
    loose = FinishedPiece.objects.filter(studio=studio, state="good", piece_set=None)
    return Whereabouts(
        sold=_sum(postings.filter(kind__in=Posting.OF_SALES), COST),
        for_sale=_sum(PieceSet.objects.filter(pk__in=waiting.values("pk")), COLUMNS),
        loose=_sum(loose, COLUMNS),
        lost=_sum(postings.exclude(kind__in=Posting.OF_SALES), COST),
    )


def _sum(rows: QuerySet[Any], columns: Sequence[str]) -> ActualCost:
    totals = rows.aggregate(**{f"sum_{name}": Total(name) for name in columns})
    return ActualCost(*(totals[f"sum_{name}"] for name in columns))
