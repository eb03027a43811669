"""The table of materials as a page sends and shows it."""

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from django import forms

from inventory.stock.imports.columns import CellError
from inventory.stock.table import COLUMNS, NAMES, SELECTS, RowSent, Shown, pasted
from inventory.stock.table.cells import MOST_ROWS, kind_named, unit_named
from inventory.stock.table.reading import folded_name

EMPTY_ROWS = 5
LONGEST_ROW = 4_000
NAMED = {"kind": kind_named, "unit": unit_named}


@dataclass(frozen=True)
class Cell:
    """One cell as it is drawn; ``choices`` are of one that is chosen, with what was typed."""

    name: str
    label: str
    field: str
    text: str
    fault: str
    choices: tuple[tuple[str, str], ...] = ()
    is_fixed: bool = False


@dataclass(frozen=True)
class Row:
    """One row as it is drawn."""

    place: int
    cells: tuple[Cell, ...]
    shown: Shown | None
    was: str

    @property
    def fault(self) -> str:
        """The first cell at fault, by the name of its field."""
        return next((cell.field for cell in self.cells if cell.fault), "")


class TableForm(forms.Form):
    """Rows of cells, named ``rows-3-price``, and text that is pasted to become such rows."""

    paste = forms.CharField(
        label="Paste rows here",
        required=False,
        max_length=100_000,
        strip=False,
        widget=forms.Textarea(attrs={"rows": 4, "wrap": "off", "spellcheck": "false"}),
        help_text="Copied from a spreadsheet, with or without its headings, in this order: "
        + ", ".join(column.heading.lower() for column in COLUMNS)
        + ". They are put into the table below for you to look at, and saved with it.",
    )

    def __init__(self, data: Any, *, shown: Iterable[Shown]) -> None:
        super().__init__(data)
        self.faults: Mapping[int, Mapping[str, str]] = {}
        shown = list(shown)
        self.shown = {one.material.pk: one for one in shown}
        if self.is_bound:
            self.sent = list(self._sent())
        else:
            self.sent = [RowSent({}, one.material.pk).over(one.cells) for one in shown]

    def _sent(self) -> Iterable[RowSent]:
        """Yield the rows as they were sent, but those of materials that are gone."""
        for place in range(MOST_ROWS + 1):
            fields = {name: self.data.get(f"rows-{place}-{name}") for name in NAMES}
            cells = {name: text.strip() for name, text in fields.items() if text is not None}
            if not cells:
                continue
            key = self.data.get(f"rows-{place}-material", "")
            number = int(key) if key.isascii() and key.isdecimal() and len(key) < 19 else None
            if number is None or number in self.shown:
                yield RowSent(cells, number, _cells_of(self.data.get(f"rows-{place}-was", "")))

    @staticmethod
    def keys_of(data: Any) -> set[int]:
        """Return the keys of the materials that rows were sent of."""
        keys = (data.get(f"rows-{place}-material", "") for place in range(MOST_ROWS + 1))
        return {int(key) for key in keys if key.isascii() and key.isdecimal() and len(key) < 19}

    def take_pasted(self) -> None:
        """Put what was pasted into the rows: over those of the same names, else into new ones."""
        self.sent = [row for row in self.sent if row.material or not row.is_untouched]
        by_name = {
            folded_name(row.cells.get("name", "")): place for place, row in enumerate(self.sent)
        }
        for cells in pasted(self.cleaned_data["paste"])[:MOST_ROWS]:
            cells = {name: _as_choice(name, text) for name, text in cells.items()}
            place = by_name.get(folded_name(cells.get("name", "")))
            if place is not None and self.sent[place].material:
                row = self.sent[place]
                self.sent[place] = RowSent({**row.cells, **cells}, row.material, row.was)
            else:
                self.sent.append(RowSent(cells))

    def lay_over(self) -> None:
        """Show what others changed meanwhile in the cells that were not touched."""
        self.sent = [
            row.over(self.shown[row.material].cells) if row.material else row for row in self.sent
        ]

    @cached_property
    def rows(self) -> list[Row]:
        """The rows for the page, with empty ones at the end."""
        blank = [RowSent({})] * EMPTY_ROWS
        filled = [row for row in self.sent if row.material or not row.is_untouched]
        places = {id(row): place for place, row in enumerate(self.sent)}
        return [
            self._row(place, row, self.faults.get(places.get(id(row), -1), {}))
            for place, row in enumerate([*filled, *blank])
        ]

    @property
    def first_empty(self) -> str:
        """The name of the first cell of the first empty row."""
        return self.rows[-EMPTY_ROWS].cells[0].field

    def _row(self, place: int, row: RowSent, faults: Mapping[str, str]) -> Row:
        shown = self.shown.get(row.material or 0)
        now = shown.cells if shown else {}
        cells = tuple(
            Cell(
                name=column.name,
                label=column.heading,
                field=f"rows-{place}-{column.name}",
                text=(text := row.cells.get(column.name, now.get(column.name, ""))),
                fault=faults.get(column.name, ""),
                choices=_choices(column.name, text),
                is_fixed=column.name == "on_hand" and _is_fixed(shown) and text == now["on_hand"],
            )
            for column in COLUMNS
        )
        return Row(place, cells, shown, json.dumps(row.was or {}) if shown else "")


def _is_fixed(shown: Shown | None) -> bool:
    """Tell whether what is on hand cannot be set by one number."""
    return shown is not None and (shown.bottles > 1 or not shown.material.is_stocked)


def _cells_of(text: str) -> Mapping[str, str] | None:
    """Return the cells that a page was shown with, as it sent them back."""
    try:
        cells = json.loads(text[:LONGEST_ROW])
    except (ValueError, RecursionError):  # the second, of brackets in brackets
        return None
    if not isinstance(cells, dict):
        return None
    return {name: cells[name] for name in NAMES if isinstance(cells.get(name), str)} or None


def _as_choice(name: str, text: str) -> str:
    """Return the value that a word in a cell chooses; what chooses nothing is kept as it is."""
    try:
        return NAMED[name](text) if name in NAMED else text
    except CellError:
        return text


def _choices(name: str, text: str) -> tuple[tuple[str, str], ...]:
    if name not in SELECTS:
        return ()
    own: Sequence[tuple[str, str]] = SELECTS[name]
    typed = [(text, text)] if text not in {"", *(value for value, _ in own)} else []
    return (("", "Choose"), *((value, str(label)) for value, label in own), *typed)
