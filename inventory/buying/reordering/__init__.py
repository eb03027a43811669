"""When to reorder, how much, and the cheapest way to buy it.

`points`, `intermittent` and `histories` say when stock is low, `patterns` how a material is used,
`chances` what quoted work may take, `running_out` on which day nothing is left. `market` holds the
facts of who sells what; `plan` finds the least that covers every need.
"""

from inventory.buying.reordering.chances import Chance, Expected, expected_of, share_from_record
from inventory.buying.reordering.histories import (
    choose_reorder_point,
    reorder_point_without_history,
)
from inventory.buying.reordering.intermittent import reorder_point_intermittent
from inventory.buying.reordering.limits import DemandError
from inventory.buying.reordering.market import Need, Offer, PriceBreak, ShippingTier, Supplier
from inventory.buying.reordering.patterns import Pattern, pattern
from inventory.buying.reordering.planning import plan
from inventory.buying.reordering.plans import Comparison, LeftOut, Plan, PlanLine, SupplierOrder
from inventory.buying.reordering.points import (
    OrderUpTo,
    ReorderPoint,
    order_up_to,
    reorder_point,
    safety_stock,
)
from inventory.buying.reordering.running_out import Event, runs_out_on
from inventory.buying.reordering.words import PlanProblem, Words

__all__ = [
    "Chance",
    "Comparison",
    "DemandError",
    "Event",
    "Expected",
    "LeftOut",
    "Need",
    "Offer",
    "OrderUpTo",
    "Pattern",
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
    "expected_of",
    "order_up_to",
    "pattern",
    "plan",
    "reorder_point",
    "reorder_point_intermittent",
    "reorder_point_without_history",
    "runs_out_on",
    "safety_stock",
    "share_from_record",
]
