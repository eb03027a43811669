"""Labels for bottles: the sheets they come on, where each stands, and how large its code is."""

from inventory.labelling.codes import QUIET_MODULES, qr_code
from inventory.labelling.designs import LEAST_MODULE_MM, Design, design
from inventory.labelling.errors import LabelError
from inventory.labelling.placing import Spot, spots
from inventory.labelling.stocks import STOCKS, LabelStock, own_stock, usual_stock

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
