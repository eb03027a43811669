from inventory.models.alert_mail import AlertMail, AlertNotice
from inventory.models.batch import Batch
from inventory.models.bottle import Bottle
from inventory.models.costing_change import CostingChange
from inventory.models.count import ShelfCount, ShelfCountLine
from inventory.models.day_use import DayUse
from inventory.models.hold import Hold, HoldChange, Work
from inventory.models.known_sheet import KnownSheet
from inventory.models.month_end import MonthEnd
from inventory.models.movement import Entry, Movement
from inventory.models.promises import with_promises
from inventory.models.purchase import Delivery, OrderLine, PurchaseOrder
from inventory.models.recipe import Recipe, RecipePart
from inventory.models.replacement_cost import ReplacementCost
from inventory.models.supplier import Pack, Supplier
from inventory.models.supply import Material

__all__ = [
    "AlertMail",
    "AlertNotice",
    "Batch",
    "Bottle",
    "CostingChange",
    "DayUse",
    "Delivery",
    "Entry",
    "Hold",
    "HoldChange",
    "KnownSheet",
    "Material",
    "MonthEnd",
    "Movement",
    "OrderLine",
    "Pack",
    "PurchaseOrder",
    "Recipe",
    "RecipePart",
    "ReplacementCost",
    "ShelfCount",
    "ShelfCountLine",
    "Supplier",
    "Work",
    "with_promises",
]
