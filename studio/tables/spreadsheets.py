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
from openpyxl.cell.read_only import EmptyCell, ReadOnlyCell
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
FORMAT_WORDS = re.compile(r'"[^"]*"|[€£$¥]')
LOCALE = re.compile(r"\[\$([^\[\]-]{0,9})[^\[\]]{0,20}\]")
PERCENT = "%"
UNREADABLE = "The spreadsheet cannot be read. Open it, save it anew as .xlsx, or save it as CSV."
TOO_FAR = "The sheet reaches far beyond what is filled in. Delete its empty rows and columns."
NO_VALUE = "This formula has no value yet. Open the file, save it anew, or type the value."


def read_xlsx(
    body: bytes, limits: Limits, as_it_looks: bool = False
) -> tuple[list[Line], Limits, list[str]]:
    """Return (numbered lines, limits, notices) of the first sheet that is not hidden.

    ``as_it_looks`` is for a sheet that was made for people: the fullest one, its cells with the
    units of their formats, and formulas without a value as their text.
    """
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of styles and extensions that no table needs
        try:
            formulas = _checked(body, limits)
            book = _book(body, data_only=True)
            place = _fullest(book, limits) if as_it_looks else 0
            sheet, notices = _sheet(book, place)
            other = _sheet(_book(body, data_only=False), place)[0] if formulas else None
            return list(_lines(sheet, other, limits, as_it_looks)), limits, notices
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


def _visible(book: Workbook) -> list[ReadOnlyWorksheet]:
    visible = [sheet for sheet in book.worksheets if sheet.sheet_state == "visible"]
    if not visible:
        raise TableError("The spreadsheet has no sheet with cells in it.")
    for sheet in visible:
        sheet.reset_dimensions()  # what the file states of its size is not to be trusted
    return visible


def _sheet(book: Workbook, place: int) -> tuple[ReadOnlyWorksheet, list[str]]:
    visible = _visible(book)
    if len(visible) == 1:
        return visible[0], []
    which = "first" if not place else "fullest"
    return visible[place], [f"Only the {which} sheet, “{visible[place].title}”, is read."]


def _fullest(book: Workbook, limits: Limits) -> int:
    """Return the place of the visible sheet with the most cells that are filled in."""
    most = [
        sum(bool(text) for _, texts, _ in _lines(sheet, None, limits, True) for text in texts)
        for sheet in _visible(book)
    ]
    return most.index(max(most))


def _lines(
    sheet: ReadOnlyWorksheet, other: ReadOnlyWorksheet | None, limits: Limits, as_it_looks: bool
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
        formulas: dict[int, str] = {}
        if others:
            for place, cell in enumerate(next(others, ())):
                if cell.data_type == "f" and cells[place].value is None:
                    faults[place], formulas[place] = NO_VALUE, str(cell.value)
        texts = [_shown(cell) if as_it_looks else _text(cell.value) for cell in cells]
        if as_it_looks:
            for place in formulas:
                texts[place] = formulas[place]
        yield number, texts, faults


def _shown(cell: ReadOnlyCell | EmptyCell) -> str:
    """Return a cell with the words that its format adds, such as “ ml” or a currency.

    A number of three decimals gets a fourth, since 1.125 as text could be over a thousand.
    """
    text = _text(cell.value)
    if not isinstance(cell.value, int | float) or isinstance(cell.value, bool):
        return text
    if "." in text and len(text.partition(".")[2]) == 3:
        text += "0"
    pattern = str(cell.number_format).partition(";")[0]
    if PERCENT in pattern:
        return f"{Decimal(text) * 100:f}%"
    before, _, after = LOCALE.sub(_sign, pattern).partition("0")
    added = ["".join(FORMAT_WORDS.findall(part)).replace('"', "") for part in (before, after)]
    return f"{added[0]}{text}{added[1]}"


def _sign(found: re.Match[str]) -> str:
    return f'"{found[1]}"'


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
