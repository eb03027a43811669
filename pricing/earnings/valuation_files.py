"""Stock at the lower of cost and what it would bring, as a table and on paper."""

from collections.abc import Callable, Iterator
from datetime import date
from decimal import Decimal

from pricing.earnings.valuation import (
    MaterialValue,
    ShownValuation,
    Valuation,
    shown_valuation,
    valuation,
)
from studio.models import Studio
from studio.pdf import paper, render_pdf
from studio.tables import table_bytes

SHEET = "Stock value"
TITLE = "Stock at the lower of cost and net realisable value"
COLUMNS = (
    "As of",
    "What",
    "Name",
    "On hand",
    "Counted in",
    "Cost",
    "Would bring or cost anew",
    "Measured by",
    "Lower of the two",
    "Loss of value",
)
AMOUNTS = ("On hand", "Cost", "Would bring or cost anew", "Lower of the two", "Loss of value")
# How a cell is read that was kept as text, by its column.
READ: dict[str, Callable[[str], object]] = {
    "As of": date.fromisoformat,
    **dict.fromkeys(AMOUNTS, Decimal),
}


def valuation_table(studio: Studio, report: Valuation, extension: str) -> bytes:
    """Return a `Valuation` as the bytes of a CSV or spreadsheet file."""
    lines = _lines(shown_valuation(report, studio.currency))
    return table_bytes(extension, COLUMNS, lines, SHEET)


def rows_as_given(studio: Studio, day: date) -> list[list[str]]:
    """Return the table of what stock is worth at the end of a past day, as texts to keep."""
    report = shown_valuation(valuation(studio, day), studio.currency)
    return [["" if cell is None else str(cell) for cell in line] for line in _lines(report)]


def table_as_given(rows: list[list[str]], extension: str) -> bytes:
    """Return rows that were kept as the bytes of the file that they were."""
    lines = (
        [cell and READ.get(column, str)(cell) for column, cell in zip(COLUMNS, row, strict=True)]
        for row in rows
    )
    return table_bytes(extension, COLUMNS, lines, SHEET)


def valuation_pdf(studio: Studio, report: Valuation) -> bytes:
    """Return a `Valuation` as the bytes of a PDF."""
    context = {
        "studio": studio,
        "paper": paper(studio.locale),
        "title": TITLE,
        "found": shown_valuation(report, studio.currency),
        "day": None if report.on == studio.today() else report.on,
    }
    return render_pdf("pricing/earnings/pdf/valuation.html", context)


def _lines(report: ShownValuation) -> Iterator[list[object]]:
    for row in (*report.materials, *report.finished):
        one = row.of
        if isinstance(one, MaterialValue):
            what = ["Material", one.material.name, one.quantity, one.material.get_unit_display()]
        else:
            what = [one.label, one.name, one.count, "set" if one.piece_set else "piece"]
        yield [report.on, *what, row.cost, row.measure, one.basis, row.value, row.write_down]
