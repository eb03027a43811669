"""The first sheet of an XLSX file as numbered lines of text.

openpyxl reads the XML through defusedxml, which refuses entities; what the archive unpacks to, how
far down and how wide it reaches, is bounded here before and while it is read.
"""

import io
import re
import warnings
import zipfile
from collections.abc import Iterator
from datetime import date, datetime, time
from decimal import Decimal

from openpyxl import load_workbook
from openpyxl.workbook import Workbook
from openpyxl.worksheet._read_only import ReadOnlyWorksheet

from studio.tables.rows import Limits, Line, TableError

MOST_FILES = 500
# Empty cells and rows cost memory too: a file may be this much roomier than it has content.
ROOM = 4
# Its XML is read before the first cell is; so many tags are a full sheet of texts.
MOST_TAGS = 1_000_000
# Other methods unpack a member at once, however large it becomes.
METHODS = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)
FORMULA_CELL = re.compile(rb"<(?:\w+:)?f[\s>/]")
UNREADABLE = "The spreadsheet cannot be read. Open it, save it anew as .xlsx, or save it as CSV."
TOO_FAR = "The sheet reaches far beyond what is filled in. Delete its empty rows and columns."
NO_VALUE = "This formula has no value yet. Open the file, save it anew, or type the value."


def read_xlsx(body: bytes, limits: Limits) -> tuple[list[Line], Limits, list[str]]:
    """Return (numbered lines, limits, notices) of the first sheet that is not hidden."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of styles and extensions that no table needs
        try:
            formulas = _checked(body, limits)
            sheet, notices = _first_sheet(_book(body, data_only=True))
            other = _first_sheet(_book(body, data_only=False))[0] if formulas else None
            return list(_lines(sheet, other, limits)), limits, notices
        except TableError:
            raise
        except Exception as error:  # a broken or hostile file fails in as many ways as it has parts
            raise TableError(UNREADABLE) from error


def _checked(body: bytes, limits: Limits) -> bool:
    """Refuse an archive that unpacks to too much; tell whether any sheet has formulas.

    `zipfile` never unpacks a member beyond the size that its directory states.
    """
    with zipfile.ZipFile(io.BytesIO(body)) as archive:
        members = archive.infolist()
        if (
            len(members) > MOST_FILES
            or sum(member.file_size for member in members) > limits.unpacked
        ):
            megabytes = limits.unpacked / 1_000_000
            raise TableError(
                f"The spreadsheet unpacks to more than {megabytes:g} MB. Save the sheet as CSV."
            )
        if any(member.compress_type not in METHODS for member in members):
            raise TableError(UNREADABLE)
        tags, formulas = 0, False
        for one in members:
            text = archive.read(one)
            tags += text.count(b"<")
            if tags > MOST_TAGS:
                raise TableError(TOO_FAR)
            if one.filename.startswith("xl/worksheets/"):
                formulas = formulas or bool(FORMULA_CELL.search(text))
        return formulas


def _book(body: bytes, data_only: bool) -> Workbook:
    return load_workbook(
        io.BytesIO(body), read_only=True, data_only=data_only, keep_links=False, rich_text=False
    )


def _first_sheet(book: Workbook) -> tuple[ReadOnlyWorksheet, list[str]]:
    visible = [sheet for sheet in book.worksheets if sheet.sheet_state == "visible"]
    if not visible:
        raise TableError("The spreadsheet has no sheet with cells in it.")
    visible[0].reset_dimensions()  # what the file states of its size is not to be trusted
    more = len(visible) > 1
    return visible[0], [f"Only the first sheet, “{visible[0].title}”, is read."] if more else []


def _lines(
    sheet: ReadOnlyWorksheet, other: ReadOnlyWorksheet | None, limits: Limits
) -> Iterator[Line]:
    cell_count = 0
    others = iter(other.rows) if other else None
    for number, cells in enumerate(sheet.rows, start=1):
        cell_count += len(cells) + 1
        if number > ROOM * (limits.rows + 1) or cell_count > ROOM * limits.rows * limits.columns:
            raise TableError(TOO_FAR)
        faults = {
            place: f"This cell shows the error {cell.value}."
            for place, cell in enumerate(cells)
            if cell.data_type == "e"
        }
        if others:
            for place, cell in enumerate(next(others, ())):
                if cell.data_type == "f" and cells[place].value is None:
                    faults[place] = NO_VALUE
        yield number, [_text(cell.value) for cell in cells], faults


def _text(value: object) -> str:
    """Return a cell as a person reads it: exact numbers, ISO dates, yes and no."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{Decimal(f'{value:.15g}'):f}"  # spreadsheets keep 15 digits
    if isinstance(value, datetime):
        return value.date().isoformat() if value.time() == time() else value.isoformat(" ")
    if isinstance(value, date | time):
        return value.isoformat()
    return str(value)
