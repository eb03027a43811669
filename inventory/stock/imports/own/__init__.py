"""Any sheet that lists what a studio keeps, however it is laid out: looked at, asked about, and its
good rows brought in, while the others come back to be mended."""

from inventory.stock.imports.own.bringing import BroughtIn, SheetRefused, bring_in_good
from inventory.stock.imports.own.looking import SheetReady, known_before, look
from inventory.stock.imports.own.mending import sheet_to_mend
from inventory.stock.imports.own.planning import RowPlan

__all__ = [
    "BroughtIn",
    "RowPlan",
    "SheetReady",
    "SheetRefused",
    "bring_in_good",
    "known_before",
    "look",
    "sheet_to_mend",
]
