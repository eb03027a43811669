"""Sheets that other people laid out, understood: which row holds the headings, what each column is,
what each cell says, and what has to be asked. Pure: rows of text come in, plain facts go out."""

from inventory.stock.sheets.columns import ROLES, SKIPPED, TO_MEND, WAS_ROW
from inventory.stock.sheets.facts import Container, Remark, SheetRow
from inventory.stock.sheets.kinds import guess_kind
from inventory.stock.sheets.layout import Layout, Line
from inventory.stock.sheets.reading import (
    QUESTIONS,
    Question,
    SheetReading,
    Told,
    heading_key,
    headings_of,
    read_sheet,
)

__all__ = [
    "QUESTIONS",
    "ROLES",
    "SKIPPED",
    "TO_MEND",
    "WAS_ROW",
    "Container",
    "Layout",
    "Line",
    "Question",
    "Remark",
    "SheetReading",
    "SheetRow",
    "Told",
    "guess_kind",
    "heading_key",
    "headings_of",
    "read_sheet",
]
