"""What a count found: for every bottle and material, expected, counted and the difference.

What a difference is worth is read from the ledger's own movements, never worked out anew.
"""

import zoneinfo
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, tzinfo
from decimal import Decimal
from itertools import compress, groupby
from typing import Any

from django.db.models import OuterRef, Subquery

from inventory.models import Material, Movement, ShelfCount, ShelfCountLine
from inventory.stock.costing import Variance, VarianceTotals, variance_totals
from studio.amounts import OrZero
from studio.money import ZERO
from studio.sight import EVERYTHING
from studio.tables import table_bytes

OF_COSTS = ("Worth by the books", "Difference in value")
HEADINGS = (
    "Bottle",
    "Material",
    "Counted in",
    "Place",
    "Expected",
    "Counted",
    "Difference",
    "Difference (%)",
    "Worth by the books",
    "Difference in value",
    "Scale showed (g)",
    "Left out because",
    "At",
    "By",
    "Undone since",
)


@dataclass(frozen=True)
class CountedBottle:
    """One line that was weighed or counted."""

    line: ShelfCountLine
    variance: Variance

    @property
    def undone_at(self) -> datetime | None:
        """When its entry was undone, which is after the count was over; None when it stands."""
        undoing = getattr(self.line.entry, "reversed_by", None)
        return undoing.recorded_at if undoing else None


@dataclass(frozen=True)
class CountedMaterial:
    """All counted bottles of one material together."""

    material: Material
    bottles: int
    variance: Variance


@dataclass(frozen=True)
class CountReport:
    """All that a count found, as it stands now."""

    count: ShelfCount
    bottles: tuple[CountedBottle, ...]
    materials: tuple[CountedMaterial, ...]
    left_out: tuple[ShelfCountLine, ...]
    waiting: tuple[ShelfCountLine, ...]
    put_back: tuple[ShelfCountLine, ...]
    totals: VarianceTotals
    expected_value: Decimal

    @property
    def different(self) -> int:
        """How many bottles did not hold what the books said."""
        return sum(1 for bottle in self.bottles if bottle.variance.quantity)

    @property
    def undone_value(self) -> Decimal:
        """What those differences are worth that were undone after the count, [currency]."""
        return sum((bottle.variance.value for bottle in self.bottles if bottle.undone_at), ZERO)

    @property
    def share(self) -> Decimal | None:
        """The net difference as a share of what the books said all of it was worth, or None."""
        return self.totals.net / self.expected_value if self.expected_value else None


def report(count: ShelfCount) -> CountReport:
    """Return the `CountReport` of a count, in one query."""
    lines = count.lines.select_related("bottle__material", "entry__reversed_by", "by", "undone_by")
    rows = list(lines.annotate(posted=posted_value()))
    live = [row for row in rows if row.undone_at is None]
    bottles = [
        CountedBottle(row, _variance(row, row.posted)) for row in live if row.counted is not None
    ]
    variances = [bottle.variance for bottle in bottles]
    return CountReport(
        count=count,
        bottles=tuple(bottles),
        materials=tuple(_by_material(bottles)),
        left_out=tuple(row for row in live if row.left_out),
        waiting=tuple(row for row in live if row.is_waiting),
        put_back=tuple(row for row in rows if row.undone_at),
        totals=variance_totals(variances),
        expected_value=sum((variance.expected_value for variance in variances), ZERO),
    )


def posted_value() -> OrZero:
    """Return the expression of what a line's entry moved in value; nothing without an entry.

    An entry of a count has one movement that weighs in; bringing an average level adds up to none.
    """
    moved = Movement.objects.filter(
        entry=OuterRef("entry"), bottle=OuterRef("bottle"), kind=Movement.Kind.WEIGH_IN
    )
    return OrZero(Subquery(moved.values("value")[:1]))


def report_file(
    report: CountReport, extension: str, sees: Mapping[str, bool] = EVERYTHING
) -> bytes:
    """Return a report, a row for each line, as the bytes of a file for a spreadsheet.

    ``sees`` is what whoever reads it sees (`studio.sight.seen_by`).
    """
    kept = [sees["costs"] or heading not in OF_COSTS for heading in HEADINGS]
    rows = (list(compress(row, kept)) for row in (HEADINGS, *_rows(report)))
    return table_bytes(extension, next(rows), rows, str(report.count))


def _variance(line: ShelfCountLine, posted: Decimal) -> Variance:
    expected, counted, worth = line.expected, line.counted, line.expected_value
    # The table has no line that was counted without what was expected.
    assert expected is not None and counted is not None and worth is not None
    return Variance(expected, counted, worth, posted)


def _by_material(bottles: Iterable[CountedBottle]) -> Iterator[CountedMaterial]:
    def key(one: CountedBottle) -> tuple[str, int]:
        material = one.line.bottle.material
        return material.name, material.pk

    for _, group in groupby(sorted(bottles, key=key), key):
        first, *others = group
        variance = first.variance
        for other in others:
            variance += other.variance
        yield CountedMaterial(first.line.bottle.material, 1 + len(others), variance)


def _rows(report: CountReport) -> Iterator[list[Any]]:
    zone = zoneinfo.ZoneInfo(report.count.studio.time_zone)
    for bottle in report.bottles:
        line, variance = bottle.line, bottle.variance
        share = variance.share
        yield [
            *_what(line),
            variance.expected,
            variance.counted,
            variance.quantity,
            None if share is None else round(share * 100, 2),
            variance.expected_value,
            variance.value,
            line.gross_g,
            "",
            *_when(line, zone),
            bottle.undone_at and bottle.undone_at.astimezone(zone),
        ]
    for line in (*report.left_out, *report.waiting):
        why = line.left_out or "Not weighed yet"
        nothing = [None] * 3
        worth = [line.expected_value, None, None]
        yield [*_what(line), line.expected, *nothing, *worth, why, *_when(line, zone), None]


def _what(line: ShelfCountLine) -> list[str]:
    bottle = line.bottle
    return [bottle.code, bottle.material.name, bottle.material.get_unit_display(), line.place]


def _when(line: ShelfCountLine, zone: tzinfo) -> list[Any]:
    return [line.at and line.at.astimezone(zone), line.by.username if line.by else ""]
