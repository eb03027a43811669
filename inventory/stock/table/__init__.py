"""All materials in one table: each with its usual pack and what is on hand, changed in one act."""

from inventory.stock.table.cells import COLUMNS, NAMES, SELECTS, RowSent, pasted
from inventory.stock.table.saving import Saved, TableRefused, save_table
from inventory.stock.table.shown import Shown, shown_rows

__all__ = [
    "COLUMNS",
    "NAMES",
    "SELECTS",
    "RowSent",
    "Saved",
    "Shown",
    "TableRefused",
    "pasted",
    "save_table",
    "shown_rows",
]
