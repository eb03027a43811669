"""Stock at the lower of cost and what it would bring, as a table and on paper."""

from collections.abc import Iterator

from pricing.earnings.valuation import FinishedValue, MaterialValue, Valuation, totals
from studio.models import Studio
from studio.pdf import paper, render_pdf
from studio.tables import table_bytes

TITLE = "Stock at the lower of cost and net realisable value"
COLUMNS = (
    "What",
    "Name",
    "On hand",
    "Counted in",
    "Cost",
    "Would bring or cost anew",
    "Measured by",
    "Lower of the two",
    "Write-down",
)


def valuation_table(found: Valuation, extension: str) -> bytes:
    """Return a `Valuation` as the bytes of a CSV or spreadsheet file."""
    return table_bytes(extension, COLUMNS, _lines(found), "Stock value")


def valuation_pdf(studio: Studio, found: Valuation) -> bytes:
    """Return a `Valuation` as the bytes of a PDF."""
    context = {
        "studio": studio,
        "paper": paper(studio.locale),
        "title": TITLE,
        "found": found,
        "materials_total": totals(found.materials),
        "finished_total": totals(found.finished),
    }
    return render_pdf("pricing/earnings/pdf/valuation.html", context)


def _lines(found: Valuation) -> Iterator[list[object]]:
    for row in found.materials:
        unit = row.material.get_unit_display()
        yield ["Material", row.material.name, row.quantity, unit, *_sums(row)]
    for one in found.finished:
        yield [one.label, one.name, one.count, "set" if one.piece_set else "piece", *_sums(one)]


def _sums(row: MaterialValue | FinishedValue) -> list[object]:
    return [row.cost, row.measure, row.basis, row.value, row.write_down]
