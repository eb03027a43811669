"""What comes in by the file: read, shown row by row before anything changes, then all or nothing.

Each kind of file (materials, suppliers, packs, opening stock, counts) is a sheet of columns. Its
rows are checked by the forms of the pages and written by the services; a file that is brought in
twice changes nothing the second time.
"""

from inventory.stock.imports.columns import Column
from inventory.stock.imports.counts import CountSheet
from inventory.stock.imports.fates import Change, Fate, Fault, ImportRefused, Preview, RowFate
from inventory.stock.imports.named_rows import MaterialSheet, PackSheet, SupplierSheet
from inventory.stock.imports.opening import Opening
from inventory.stock.imports.running import (
    ImportSheet,
    Ready,
    bring_in,
    carry_out,
    made_ready,
    preview,
    template,
)

_sheets: tuple[ImportSheet, ...] = (
    MaterialSheet(),
    SupplierSheet(),
    PackSheet(),
    Opening(),
    CountSheet(),
)
SHEETS = {sheet.name: sheet for sheet in _sheets}

__all__ = [
    "SHEETS",
    "Change",
    "Column",
    "Fate",
    "Fault",
    "ImportRefused",
    "ImportSheet",
    "Preview",
    "Ready",
    "RowFate",
    "bring_in",
    "carry_out",
    "made_ready",
    "preview",
    "template",
]
