"""The columns of the table of materials, its rows as they are sent, and rows that are pasted."""

import csv
import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Self

from inventory.models import Material
from inventory.stock.imports.columns import CellError, Column, choice
from studio.tables import folded
from studio.tables.formulas import unguarded
from studio.text import one_line
from studio.units.numerals import quoted
from studio.units.readings import kind_of

COLUMNS = (
    Column("name", "Material", "Its name.", True, "name"),
    Column("kind", "Kind", "What it is.", True),
    Column("unit", "Counted in", "mL, g or each.", label="unit"),
    Column("supplier", "Supplier", "Who sells it; a new name adds a supplier.", label="sold by"),
    Column("size", "Pack holds", "In any unit: 32 fl oz, 1 gal, 500 g or 12.", label="size"),
    Column("price", "Price of a pack", "Before tax and shipping.", label="price"),
    Column("on_hand", "On hand", "In any unit, or 0.", label="amount"),
)
NAMES = tuple(column.name for column in COLUMNS)
# What is said of one thing: a row is stale where such a group was changed by somebody else.
GROUPS = (("name", "kind", "unit"), ("supplier", "size", "price"), ("on_hand",))
SELECTS = {"kind": Material.Kind.choices, "unit": Material.Unit.choices}
MOST_ROWS = 200
LONGEST_CELL = 200
CHOOSE = "Choose what kind of thing it is."
UNITS_OF = {"volume": Material.Unit.ML, "weight": Material.Unit.G, "count": Material.Unit.EACH}


@dataclass(frozen=True)
class RowSent:
    """One row as somebody wants it.

    ``cells`` are texts by the name of their column; what is left out stays as it is. ``material``
    is the key of a material that is there; without one, the row is about the material of its name,
    or a new one. ``was`` are the cells as they were shown, where they were: only what differs from
    it is changed, and not if somebody else changed it since.
    """

    cells: Mapping[str, str]
    material: int | None = None
    was: Mapping[str, str] | None = None

    @property
    def is_untouched(self) -> bool:
        """Whether nothing was typed into it."""
        if self.material is None:
            return not any(self.cells.values())
        return self.was is not None and self.cells.items() <= self.was.items()

    def over(self, now: Mapping[str, str]) -> Self:
        """Return the row with what was typed, laid over the cells as they are now."""
        was = now if self.was is None else self.was
        typed = {name: text for name, text in self.cells.items() if text != was.get(name)}
        return replace(self, cells={**now, **typed}, was=now)


def pasted(text: str) -> list[dict[str, str]]:
    """Return the rows of cells copied from a spreadsheet: {column: text}, empty cells left out.

    Cells are parted by tabs, rows by line breaks. A first row of headings says which column is
    which, and what has another heading is not read; without one they are in the table's own order.
    """
    reader = csv.reader(io.StringIO(text, newline=""), delimiter="\t")
    try:
        lines = [[one_line(unguarded(cell)) for cell in line] for line in reader]
    except csv.Error:  # a quotation mark that is never closed
        lines = [[one_line(cell) for cell in line.split("\t")] for line in text.splitlines()]
    lines = [line for line in lines if any(line)]
    names: Sequence[str] = NAMES
    if lines and (headings := [_column_of(cell) for cell in lines[0]]) and "name" in headings:
        names, lines = headings, lines[1:]
    return [
        {name: cell for name, cell in zip(names, line, strict=False) if name and cell}
        for line in lines
    ]


def _column_of(heading: str) -> str:
    name = folded(heading)
    return next((column.name for column in COLUMNS if name and name in column.names), "")


def kind_named(text: str) -> str:
    """Return the kind of material that a word means, such as ``canvas``."""
    word = folded(text)
    named = [value for value, label in Material.Kind.choices if word in folded(label).split()]
    if len(named) == 1:
        return str(named[0])
    try:
        return str(choice(text, Material.Kind.choices))
    except CellError:
        raise CellError(
            f"{quoted(text)} is no kind here: choose one." if text else CHOOSE
        ) from None


def unit_named(text: str) -> str:
    """Return how a material is counted that is measured so: ``L`` in mL, ``kg`` in g."""
    try:
        return str(choice(text, Material.Unit.choices))
    except CellError:
        if unit := UNITS_OF.get(kind_of(text.casefold()) or ""):
            return str(unit)
        raise CellError("Choose mL, g or each.") from None


def unit_of_size(text: str) -> str:
    """Return how a material is counted whose pack holds so much: a plain number is items."""
    words = folded(text).split()
    kinds = {UNITS_OF.get(kind_of(word) or "") for word in words} - {None}
    if "floz" in "".join(words):
        return str(Material.Unit.ML)
    if len(kinds) == 1:
        return str(kinds.pop())
    return str(Material.Unit.EACH) if text.strip().isdecimal() else ""
