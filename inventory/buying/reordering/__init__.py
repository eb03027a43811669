"""When to reorder, how much, and the cheapest way to buy it.

`points`, `intermittent` and `histories` say when stock is low, `patterns` how a material is used,
`chances` what quoted work may take, `running_out` on which day nothing is left. `market` holds the
facts of who sells what; `plan` finds the least that covers every need, and `replacing` what a unit
of each material then costs.

What each part of `plan` is worth, switched off on random markets of 60 materials and 5 suppliers
(five with one price a pack, five with breaks and tiers), 12 dated materials and 4 suppliers, and
40 tiny ones. With all parts all 58 are proven, in one or two seconds for five large ones.

`programme` and HiGHS in `solving`: without, 39 of the 58 are proven (2 of 5, 3 of 5, 2 of 8 and 32
    of 40), the tiny ones cost 0.4 % more together, and the gap left open is up to 18 %.
`solving`, numbers of packs worth buying: without, 17 times as long on large markets of one
    price a pack.
`solving`, the rest of a material by its cheapest cover: by the price of size alone 3 to 7 times.
`searching`, suppliers before packs: without, 36 times as long on the same; without the
    worth of goods alone, 3 to 4 times.
`knapsack`, packs that others undercut left out: without, 1.3 to 1.6 times; it bounds the steps.
`separate`, covers shared by the trials of a budget: without, 4 times as long within a budget.
`affording`, a bound and a quick basket before the solver: without, 1.5 to 2.7 times.
"""

from inventory.buying.reordering.chances import Chance, ExpectedUse, expected_of, share_from_record
from inventory.buying.reordering.histories import (
    choose_reorder_point,
    reorder_point_without_history,
)
from inventory.buying.reordering.intermittent import reorder_point_intermittent
from inventory.buying.reordering.limits import DemandError
from inventory.buying.reordering.market import (
    MaterialNeed,
    PackOffer,
    PriceBreak,
    ShippingTier,
    SupplierTerms,
)
from inventory.buying.reordering.patterns import Pattern, pattern
from inventory.buying.reordering.planning import plan
from inventory.buying.reordering.plans import (
    Comparison,
    LeftOut,
    PlanLine,
    PurchasePlan,
    SupplierOrder,
)
from inventory.buying.reordering.points import (
    OrderUpTo,
    ReorderPoint,
    order_up_to,
    reorder_point,
    safety_stock,
)
from inventory.buying.reordering.replacing import (
    Deliveries,
    Replacement,
    Restock,
    replacements,
)
from inventory.buying.reordering.running_out import Event, runs_out_on
from inventory.buying.reordering.words import PlanProblem, Words

__all__ = [
    "Chance",
    "Comparison",
    "Deliveries",
    "DemandError",
    "Event",
    "ExpectedUse",
    "LeftOut",
    "MaterialNeed",
    "OrderUpTo",
    "PackOffer",
    "Pattern",
    "PlanLine",
    "PlanProblem",
    "PriceBreak",
    "PurchasePlan",
    "ReorderPoint",
    "Replacement",
    "Restock",
    "ShippingTier",
    "SupplierOrder",
    "SupplierTerms",
    "Words",
    "choose_reorder_point",
    "expected_of",
    "order_up_to",
    "pattern",
    "plan",
    "reorder_point",
    "reorder_point_intermittent",
    "reorder_point_without_history",
    "replacements",
    "runs_out_on",
    "safety_stock",
    "share_from_record",
]
