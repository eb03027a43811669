"""Bytes to a table, by what the file is and not by what it is called."""

import csv
import io
import re
from collections.abc import Iterator

from studio.tables.rows import Limits, Line, Table, TableError, tabled
from studio.tables.spreadsheets import read_xlsx

ZIP, OLD_EXCEL = b"PK\x03\x04", b"\xd0\xcf\x11\xe0"
BYTE_ORDER_MARKS = {b"\xff\xfe": "utf-16", b"\xfe\xff": "utf-16", b"\xef\xbb\xbf": "utf-8-sig"}
DELIMITERS = ",;\t|"
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
    if len(body) > limits.body:
        megabytes = limits.body / 1_000_000
        raise TableError(f"The file is larger than {megabytes:g} MB. Split it into parts.")
    if body.startswith(OLD_EXCEL):
        raise TableError("This is an old .xls file. Save it as .xlsx or as CSV, and choose that.")
    if body.startswith(ZIP):
        return tabled(*read_xlsx(body, limits))
    return _read_csv(body, limits)


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

    Otherwise it is what stands most often in the first line that is not blank, outside quotes.
    """
    first = next((line for line in text.splitlines() if line.strip()), "")
    declaration = re.fullmatch(r'"?sep=([,;\t|])"?', first.strip("\r\n "))
    if declaration:
        return declaration[1], 1
    bare = re.sub(r'"[^"]*"', "", first)
    return max(DELIMITERS, key=bare.count), 0


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
