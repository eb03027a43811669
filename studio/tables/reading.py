"""Bytes to a table, by what the file is and not by what it is called."""

import csv
import io
import re
from collections import Counter
from collections.abc import Iterator

from studio.tables.rows import Grid, Limits, Line, Table, TableError, gridded, tabled
from studio.tables.spreadsheets import read_xlsx

ZIP, OLD_EXCEL = b"PK\x03\x04", b"\xd0\xcf\x11\xe0"
NO_TABLES = (b"\x89PNG", b"\xff\xd8\xff", b"GIF8", b"%PDF", b"RIFF", b"II*\0", b"MM\0*")
BYTE_ORDER_MARKS = {b"\xff\xfe": "utf-16", b"\xfe\xff": "utf-16", b"\xef\xbb\xbf": "utf-8-sig"}
DELIMITERS = ",;\t|"
DECLARED = re.compile(r'"?sep=([,;\t|])"?')
QUOTED = re.compile(r'"[^"]*"')
LOOKED_AT = 50_000  # [characters]
GUESSED = (
    "The file is not in UTF-8, so it was read as Windows-1252. If an accent or a sign looks wrong "
    "below, save it as “CSV UTF-8” and choose it again."
)
COMMAS = "Columns are parted by semicolons, so a comma in a number is read as its decimal point."


def read_table(body: bytes, limits: Limits | None = None) -> Table:
    """Read the bytes of a CSV or XLSX file.

    Parameters
    ----------
    body : bytes
        The whole file.
    limits : Limits, optional
        What it may hold.

    Returns
    -------
    Table
        Every cell as stripped text; marks against formulas are taken off again.

    Raises
    ------
    TableError
        If it is too large, or no table; the sentence names the line where it can.
    """
    limits = limits or Limits()
    _check(body, limits)
    if body.startswith(ZIP):
        return tabled(*read_xlsx(body, limits))
    return _read_csv(body, limits)


def read_grid(body: bytes, limits: Limits | None = None) -> Grid:
    """Read the bytes of a CSV or XLSX file that may begin anywhere and be laid out in any way.

    Of a workbook it is the fullest sheet that is read, with the units that its formats show. Takes
    and raises what `read_table` does.
    """
    limits = limits or Limits()
    _check(body, limits)
    if body.startswith(ZIP):
        return gridded(*read_xlsx(body, limits, as_it_looks=True))
    text, notices = decoded(body)
    delimiter, skipped = _delimiter(text)
    return gridded(_csv_lines(text, delimiter, skipped), limits, notices)


def _check(body: bytes, limits: Limits) -> None:
    """Refuse what is too large, and what is known not to be a table."""
    if len(body) > limits.body:
        megabytes = limits.body / 1_000_000
        raise TableError(f"The file is larger than {megabytes:g} MB. Split it into parts.")
    if body.startswith(OLD_EXCEL):
        raise TableError("This is an old .xls file. Save it as .xlsx or as CSV, and choose that.")
    if body.startswith(NO_TABLES):
        raise TableError(
            "This is a picture or a PDF, not a table. Choose a CSV file or an .xlsx spreadsheet."
        )


def decoded(body: bytes) -> tuple[str, list[str]]:
    """Return the text of a file and what should be said of how it was read."""
    encoding = next(
        (name for mark, name in BYTE_ORDER_MARKS.items() if body.startswith(mark)), "utf-8"
    )
    notices = []
    try:
        text = body.decode(encoding)
    except UnicodeDecodeError:
        if encoding == "utf-16":
            raise TableError(
                "The file cannot be read as text: it was cut off. Save it as “CSV UTF-8”."
            ) from None
        try:
            text = body.decode("cp1252")
        except UnicodeDecodeError:
            raise TableError("The file cannot be read as text. Save it as “CSV UTF-8”.") from None
        notices.append(GUESSED)
    if "\0" in text:
        raise TableError("This is no table. Choose a CSV file in UTF-8, or an .xlsx spreadsheet.")
    return text, notices


def _read_csv(body: bytes, limits: Limits) -> Table:
    text, notices = decoded(body)
    delimiter, skipped = _delimiter(text)
    if delimiter == ";":
        notices.append(COMMAS)
    lines = _csv_lines(text, delimiter, skipped)
    return tabled(lines, limits, notices, decimal_comma=delimiter == ";")


def _delimiter(text: str) -> tuple[str, int]:
    """Return what parts the columns, and how many lines only say so: spreadsheets write ``sep=;``.

    Otherwise it is what stands equally often in the most of the first lines, outside quotes, so
    that a title above the headings does not count.
    """
    first = next((line for line in text.splitlines() if line.strip()), "")
    declaration = DECLARED.fullmatch(first.strip("\r\n "))
    if declaration:
        return declaration[1], 1
    lines = [line for line in QUOTED.sub("", text[:LOOKED_AT]).splitlines() if line.strip()]

    def agreement(delimiter: str) -> tuple[int, int]:
        counts = Counter(line.count(delimiter) for line in lines)
        return max(((many, count) for count, many in counts.items() if count), default=(0, 0))

    return max(DELIMITERS, key=agreement), 0


def _csv_lines(text: str, delimiter: str, skipped: int) -> Iterator[Line]:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    start = 1
    try:
        for texts in reader:
            if any(texts) and skipped:
                skipped -= 1
            else:
                yield start, texts, {}
            start = reader.line_num + 1
    except csv.Error as error:
        raise TableError(
            f"Line {start} cannot be read: {_csv_sentence(str(error))} Mend it and choose the "
            "file again."
        ) from error


def _csv_sentence(words: str) -> str:
    if "field larger" in words:
        return "a cell is far too long, perhaps since a quotation mark is never closed."
    return "a quotation mark is out of place or never closed."
