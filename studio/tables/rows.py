"""What a table is once it has been read, and what it may be."""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from studio.errors import StudioError
from studio.tables.formulas import unguarded
from studio.text import one_line, several_lines


class TableError(StudioError):
    """A file that cannot be read as one table of rows."""

    code = "unreadable_table"


@dataclass(frozen=True)
class Limits:
    """What a file may hold: its size and its size unpacked, [B]; rows, columns, [-]; the longest
    cell, [characters]."""

    body: int = 2_000_000
    unpacked: int = 40_000_000
    rows: int = 2_000
    columns: int = 60
    cell: int = 4_000


@dataclass(frozen=True)
class TableRow:
    """One row: the line or row number it stands on, its texts by folded heading, and the sentences
    about cells that could not be read."""

    line: int
    cells: dict[str, str]
    faults: dict[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Table:
    """Headings as written, the rows below them, and what the reader should know about the file."""

    headings: tuple[str, ...]
    rows: tuple[TableRow, ...]
    notices: tuple[str, ...] = ()
    decimal_comma: bool = False


@dataclass(frozen=True)
class Grid:
    """A file as it stands: every row with its number, from the first, and what to know about it.

    A formula without a value stands as its text, a cell that shows an error as that."""

    lines: tuple[tuple[int, tuple[str, ...]], ...]
    notices: tuple[str, ...] = ()


def folded(heading: str) -> str:
    """Return what makes two headings the same: letters and digits, whatever stands between.

    >>> folded(" Density (g/mL)"), folded("lead_days")
    ('density g ml', 'lead days')
    """
    return " ".join(re.findall(r"[^\W_]+", heading.casefold()))


# A line of a file: its number, its texts, and {position: what is wrong there}.
Line = tuple[int, Sequence[str], Mapping[int, str]]


def tabled(
    lines: Iterable[Line], limits: Limits, notices: Iterable[str] = (), decimal_comma: bool = False
) -> Table:
    """Return the `Table` of numbered lines: (number, texts, {position: what is wrong there}).

    The first line that is not blank is the headings; blank lines are passed over. Raises
    `TableError` for headings that are missing, stand twice, or are too many, and too many rows.
    """
    filled_lines = (line for line in lines if any(line[1]) or line[2])
    number, headings, _ = next(filled_lines, (0, [], {}))
    headings = _without_blank_end([one_line(text) for text in headings])
    if not headings:
        raise TableError("The file is empty. Put headings in the first row and one thing in each.")
    names = _names(number, headings, limits)
    rows: list[TableRow] = []
    for line in filled_lines:
        if len(rows) == limits.rows:
            raise TableError(
                f"The file has more than {limits.rows:,} rows. Split it and bring in the parts."
            )
        rows.append(_row(line, names, limits))
    if not rows:
        raise TableError("There are headings, but no rows below them.")
    return Table(tuple(headings), tuple(rows), tuple(notices), decimal_comma)


def gridded(lines: Iterable[Line], limits: Limits, notices: Iterable[str] = ()) -> Grid:
    """Return the `Grid` of lines, numbered as a spreadsheet numbers them.

    Raises `TableError` for more rows with content, or wider ones, than the limits allow.
    """
    rows: list[tuple[int, tuple[str, ...]]] = []
    filled = 0
    for number, (_, texts, _) in enumerate(lines, start=1):
        cells = tuple(_without_blank_end([_clean(number, text, limits) for text in texts]))
        filled += bool(cells)
        if filled > limits.rows:
            raise TableError(
                f"The file has more than {limits.rows:,} rows. Split it and bring in the parts."
            )
        if len(cells) > limits.columns:
            raise TableError(
                f"Row {number} has {len(cells)} columns, and at most {limits.columns} are read. "
                "Take out what is not needed."
            )
        rows.append((number, cells))
    if not filled:
        raise TableError("The file is empty. Choose one with a thing you keep in each row.")
    return Grid(tuple(rows), tuple(notices))


def _clean(number: int, text: str, limits: Limits) -> str:
    if len(text) > limits.cell:
        raise TableError(f"Row {number} has a cell of more than {limits.cell:,} characters.")
    return several_lines(unguarded(text.strip())).strip()


def _without_blank_end(texts: Sequence[str]) -> Sequence[str]:
    width = max((place for place, text in enumerate(texts, 1) if text), default=0)
    return texts[:width]


def _names(number: int, headings: Sequence[str], limits: Limits) -> list[str]:
    if len(headings) > limits.columns:
        raise TableError(
            f"The file has {len(headings)} columns, and at most {limits.columns} are read. Take "
            "out what is not needed."
        )
    names = [folded(text) for text in headings]
    twice = [text for text, name in zip(headings, names, strict=True) if names.count(name) > 1]
    if any(twice):
        raise TableError(
            f"The heading “{next(filter(None, twice))}” stands twice in line {number}. Keep one."
        )
    return names


def _row(line: Line, names: Sequence[str], limits: Limits) -> TableRow:
    number, texts, faults = line
    beyond = [place for place, text in enumerate(texts) if text.strip() and place >= len(names)]
    bare = [place for place, text in enumerate(texts[: len(names)]) if text and not names[place]]
    if beyond or bare:
        place = (beyond + bare)[0] + 1
        raise TableError(f"Line {number} has something in column {place}, which has no heading.")
    cells: dict[str, str] = {}
    wrong: dict[str, str] = {}
    for place, name in enumerate(names):
        text = unguarded(texts[place].strip()) if place < len(texts) else ""
        if len(text) > limits.cell:
            text, wrong[name] = "", f"This is longer than {limits.cell:,} characters."
        elif "\0" in text:
            text, wrong[name] = "", "This holds a character that is no text."
        cells[name] = several_lines(text).strip()
        if place in faults:
            wrong[name] = faults[place]
    return TableRow(number, cells, wrong)
