"""Which rows of a sheet are headings, which stand for things, and which are passed over."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from inventory.stock.sheets.columns import folded_heading, guess_columns, role_of_heading
from inventory.stock.sheets.words import TOTALS

DEEPEST = 40  # rows above the headings at most
LONGEST = 60  # characters of what says that a row adds up others
LEAST = 2  # headings that are known make a row of headings


class Passed(StrEnum):
    """Why a row is passed over."""

    TITLE = "a title"
    HEADINGS = "headings"
    GROUP = "a group"
    TOTAL = "a total"
    FOOT = "a line at the end"


@dataclass(frozen=True)
class Line:
    """One row of the file: its number there and its cells as text, [-]."""

    number: int
    cells: tuple[str, ...]

    @property
    def filled(self) -> list[int]:
        return [place for place, text in enumerate(self.cells) if text]

    def cell(self, place: int | None) -> str:
        return self.cells[place] if place is not None and place < len(self.cells) else ""


@dataclass(frozen=True)
class Thing:
    """A row that stands for something, and the group it stands under; ``is_bare`` where nothing
    but its name is there and nothing follows that it could be the heading of, [-]."""

    line: Line
    group: str = ""
    is_bare: bool = False


@dataclass(frozen=True)
class Layout:
    """Where a sheet's headings are, what each column holds, which rows are things, [-]."""

    headings: tuple[str, ...]
    heading_row: int
    columns: Mapping[int, str]
    things: tuple[Thing, ...]
    passed: tuple[tuple[int, str, Passed], ...]

    def place(self, role: str) -> int | None:
        """Return the place of the column of a role, or None."""
        return next((place for place, one in self.columns.items() if one == role), None)


def laid_out(
    lines: Sequence[Line], columns: Mapping[int, str] | None = None, heading_row: int | None = None
) -> Layout:
    """Find a sheet's layout; ``columns`` and ``heading_row`` are what a person said of it, where a
    row 0 says that there are no headings."""
    filled = [line for line in lines if line.filled]
    first, last = _found(filled) if heading_row is None else _named(filled, heading_row)
    headings = _headings(filled[first : last + 1]) if last >= 0 else ()
    below = filled[last + 1 :]
    sample = [line.cells for line in below if len(line.filled) > 1]
    sample = sample or [line.cells for line in below]
    told = columns if columns is not None else guess_columns(headings, sample)
    names = [place for place, role in told.items() if role == "name"]
    own = {line.cells for line in filled[first : last + 1]}
    titles = [(line.number, _text(line), Passed.TITLE) for line in filled[: max(first, 0)]]
    things, passed = _sorted(below, names[0] if names else 0, own, lines)
    row = filled[last].number if last >= 0 else 0
    return Layout(headings, row, told, tuple(things), (*titles, *passed))


def _found(filled: Sequence[Line]) -> tuple[int, int]:
    """Return the first and last row of the headings, counted among rows with content; (0, -1) for a
    sheet that has none."""
    best, at = LEAST - 1, (0, -1)
    for index, line in enumerate(filled[:DEEPEST]):
        known = _known(line.cells)
        if len(known) > best and _is_heading_like(line):
            best, at = len(known), (index, index)
        if index and _is_heading_like(line) and len(known) >= LEAST:
            above = filled[index - 1]
            if above.number == line.number - 1 and len(_known(above.cells)) >= LEAST:
                both = _known(_headings([above, line]))
                if len(both) > best:
                    best, at = len(both), (index - 1, index)
    return at if at[1] >= 0 else _by_look(filled)


def _by_look(filled: Sequence[Line]) -> tuple[int, int]:
    """Return the row of headings that nobody knows: words alone, above rows that have figures."""
    index = next((at for at, line in enumerate(filled) if len(line.filled) > 1), 0)
    below = filled[index + 1 :]
    if not below or _has_figures(filled[index]):
        return 0, -1
    figures = sum(map(_has_figures, below))
    return (index, index) if 2 * figures > len(below) else (0, -1)


def _has_figures(line: Line) -> bool:
    return any(one.isdigit() for text in line.cells for one in text[:LONGEST])


def _named(filled: Sequence[Line], heading_row: int) -> tuple[int, int]:
    index = next((at for at, line in enumerate(filled) if line.number == heading_row), None)
    if index is None:
        return 0, -1
    found = _found(filled)
    return found if found[1] == index else (index, index)


def _known(texts: Sequence[str]) -> set[str]:
    return {role for text in texts if (role := role_of_heading(text)[0])}


def _is_heading_like(line: Line) -> bool:
    texts = [line.cells[place] for place in line.filled]
    return not any(text.replace(".", "").replace(",", "").isdigit() for text in texts)


def _headings(lines: Sequence[Line]) -> tuple[str, ...]:
    """Return one heading a column; of two rows, the upper one spreads over what is merged."""
    if len(lines) == 1:
        return lines[0].cells
    upper, lower = lines
    headings, spread = [], ""
    for place in range(max(len(upper.cells), len(lower.cells))):
        spread = upper.cell(place) or spread
        own = lower.cell(place)
        if not own:
            headings.append(upper.cell(place))
        else:
            headings.append(own if role_of_heading(own)[0] else f"{spread} {own}".strip())
    return tuple(headings)


def _sorted(
    below: Sequence[Line], name: int, own: set[tuple[str, ...]], lines: Sequence[Line]
) -> tuple[list[Thing], list[tuple[int, str, Passed]]]:
    """Part the rows below the headings into things and what is passed over."""
    blank = {line.number for line in lines if not line.filled}
    last = max((line.number for line in below if _is_full(line, name)), default=0)
    things: list[Thing] = []
    passed: list[tuple[int, str, Passed]] = []
    group = ""
    for line, why in _judged(below, name, own, last, blank):
        if why is None:
            things.append(Thing(line, group, is_bare=not _is_full(line, name)))
        else:
            passed.append((line.number, _text(line), why))
            group = _text(line) if why == Passed.GROUP else group
    return things, passed


def _judged(
    below: Sequence[Line], name: int, own: set[tuple[str, ...]], last: int, blank: set[int]
) -> Iterator[tuple[Line, Passed | None]]:
    for line in below:
        alone = len(line.filled) == 1
        if line.cells in own:
            yield line, Passed.HEADINGS
        elif _is_total(line, name):
            yield line, Passed.TOTAL
        elif not any(one.isalnum() for one in _text(line)) and not line.cell(name):
            continue  # a line of dashes
        elif alone and line.number < last:
            yield line, Passed.GROUP
        elif alone and line.number - 1 in blank:
            yield line, Passed.FOOT
        else:
            yield line, None


def _is_full(line: Line, name: int) -> bool:
    return len(line.filled) > 1 and not _is_total(line, name)


def _is_total(line: Line, name: int) -> bool:
    """Tell whether a row adds others up: by its first word, or where nothing but figures stands."""
    first = line.cell(name) or line.cells[line.filled[0]]
    words = folded_heading(first[:LONGEST]).split()
    if words[:1] and (words[0] in TOTALS or "".join(words[:2]) in TOTALS):
        return True
    figures = [line.cells[place] for place in line.filled]
    return not line.cell(name) and not any(one.isalpha() for text in figures for one in text)


def _text(line: Line) -> str:
    return " ".join(line.cells[place] for place in line.filled)
