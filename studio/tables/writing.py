"""Rows to bytes. No text that is written is ever run as a formula."""

import csv
import io
from collections.abc import Iterable, Sequence
from datetime import date, datetime
from decimal import Decimal
from typing import TextIO

from openpyxl import Workbook
from openpyxl.cell import WriteOnlyCell
from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE
from openpyxl.styles import Alignment, Font
from openpyxl.worksheet._write_only import WriteOnlyWorksheet

from studio.tables.formulas import guarded
from studio.tables.rows import TableError
from studio.text import shortened
from studio.units.numerals import trimmed

FORMATS = {
    "csv": "text/csv; charset=utf-8",
    "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}
MOST_SPREADSHEET_ROWS = 1_048_575
LONGEST_TITLE = 31  # of a sheet, as the format has it [characters]


def as_text(value: object) -> str:
    """Return a value as it stands in a CSV file: plain numbers, ISO dates, yes and no."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Decimal):
        return trimmed(value)
    if isinstance(value, datetime):
        return value.isoformat(" ", "minutes")
    if isinstance(value, int | date):
        return str(value)
    return guarded(str(value))


def write_csv(stream: TextIO, headings: Sequence[str], rows: Iterable[Iterable[object]]) -> None:
    """Write a table to a text stream, as RFC 4180 has it."""
    writer = csv.writer(stream, lineterminator="\r\n")
    writer.writerow([guarded(heading) for heading in headings])
    writer.writerows([as_text(value) for value in row] for row in rows)


def csv_bytes(headings: Sequence[str], rows: Iterable[Iterable[object]]) -> bytes:
    """Return a CSV file in UTF-8, with the mark that tells spreadsheets so."""
    stream = io.StringIO(newline="")
    write_csv(stream, headings, rows)
    return stream.getvalue().encode("utf-8-sig")


def xlsx_bytes(
    headings: Sequence[str],
    rows: Iterable[Iterable[object]],
    title: str,
    notes: Sequence[Sequence[str]] = (),
) -> bytes:
    """Return an XLSX file of one sheet, and of a second with ``notes``, rows of text, if any.

    Numbers and dates are cells of their kind; raises `TableError` beyond a sheet's rows.
    """
    book = Workbook(write_only=True)
    _fill(book.create_sheet(shortened(title, LONGEST_TITLE)), headings, rows)
    if notes:
        _fill(book.create_sheet("How to fill it in"), ("Column", "What it holds"), notes)
    stream = io.BytesIO()
    book.save(stream)
    return stream.getvalue()


def table_bytes(
    extension: str, headings: Sequence[str], rows: Iterable[Iterable[object]], title: str
) -> bytes:
    """Return the file of a table in one of `FORMATS`."""
    if extension == "xlsx":
        return xlsx_bytes(headings, rows, title)
    return csv_bytes(headings, rows)


def _fill(
    sheet: WriteOnlyWorksheet, headings: Sequence[str], rows: Iterable[Iterable[object]]
) -> None:
    sheet.freeze_panes = "A2"
    for place, heading in enumerate(headings):
        sheet.column_dimensions[_letter(place)].width = min(max(len(heading) + 3, 12), 40)
    cells = [WriteOnlyCell(sheet, guarded(heading)) for heading in headings]
    for cell in cells:
        cell.font, cell.alignment = Font(bold=True), Alignment(vertical="top")
    sheet.append(cells)
    for count, row in enumerate(rows, start=1):
        if count > MOST_SPREADSHEET_ROWS:
            raise TableError("A spreadsheet has no room for so many rows. Take the CSV file.")
        sheet.append([_cell_value(value) for value in row])


def _cell_value(value: object) -> str | int | Decimal | date:
    if isinstance(value, bool) or not isinstance(value, int | Decimal | date):
        return ILLEGAL_CHARACTERS_RE.sub("\ufffd", as_text(value))
    return as_text(value) if isinstance(value, datetime) else value


def _letter(place: int) -> str:
    first, second = divmod(place, 26)
    return (chr(64 + first) if first else "") + chr(65 + second)
