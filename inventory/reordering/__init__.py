"""When to reorder, how much, and the cheapest way to buy it.

`points`, `intermittent` and `histories` say when stock is low. `market` holds the facts of
who sells what; `plan` finds the least that covers every need.
"""

from inventory.reordering.histories import choose_reorder_point, reorder_point_without_history
from inventory.reordering.intermittent import reorder_point_intermittent
from inventory.reordering.market import Need, Offer, PriceBreak, ShippingTier, Supplier
from inventory.reordering.planning import plan
from inventory.reordering.plans import Comparison, Plan, PlanLine, SupplierOrder
from inventory.reordering.points import (
    DemandError,
    OrderUpTo,
    ReorderPoint,
    order_up_to,
    reorder_point,
    safety_stock,
)
from inventory.reordering.words import PlanProblem, Words

__all__ = [
    "Comparison",
    "DemandError",
    "Need",
    "Offer",
    "OrderUpTo",
    "Plan",
    "PlanLine",
    "PlanProblem",
    "PriceBreak",
    "ReorderPoint",
    "ShippingTier",
    "Supplier",
    "SupplierOrder",
    "Words",
    "choose_reorder_point",
    "order_up_to",
    "plan",
    "reorder_point",
    "reorder_point_intermittent",
    "reorder_point_without_history",
    "safety_stock",
]
