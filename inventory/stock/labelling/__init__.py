"""Labels for bottles: the sheets they come on, where each stands, and how large its code is."""

from inventory.stock.labelling.codes import QUIET_MODULES, qr_code
from inventory.stock.labelling.designs import LEAST_MODULE_MM, Design, design
from inventory.stock.labelling.errors import LabelError
from inventory.stock.labelling.placing import Spot, spots
from inventory.stock.labelling.stocks import STOCKS, LabelStock, own_stock, usual_stock

__all__ = [
    "LEAST_MODULE_MM",
    "QUIET_MODULES",
    "STOCKS",
    "Design",
    "LabelError",
    "LabelStock",
    "Spot",
    "design",
    "own_stock",
    "qr_code",
    "spots",
    "usual_stock",
]
