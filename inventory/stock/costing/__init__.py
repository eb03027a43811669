"""What stock cost: first in first out and moving average, over plain lots.

Every lot (a bottle, a box) carries a quantity and a value. Both methods issue stock alike, each lot
at its own cost; under the moving average the lots' values are spread again at each receipt, so that
every lot then carries the average. What came in therefore always equals what went out plus what is
on hand, to the last place.
"""

from inventory.stock.costing.amounts import (
    CostingError,
    apportion,
    share,
)
from inventory.stock.costing.lots import Lot, NotEnough, Take, issue, issue_order, respread
from inventory.stock.costing.nrv import (
    Carried,
    StockItem,
    Valued,
    lower_of_cost_and_nrv,
    value_material,
)
from inventory.stock.costing.purchases import DeliveryLine, landed
from inventory.stock.costing.run_off import Scraped, as_much_of, run_off_value
from inventory.stock.costing.variances import (
    Variance,
    VarianceTotals,
    is_far_off,
    is_out_of_line,
    is_overfull,
    variance_totals,
)

__all__ = [
    "Carried",
    "CostingError",
    "DeliveryLine",
    "Lot",
    "NotEnough",
    "Scraped",
    "StockItem",
    "Take",
    "Valued",
    "Variance",
    "VarianceTotals",
    "apportion",
    "as_much_of",
    "is_far_off",
    "is_out_of_line",
    "is_overfull",
    "issue",
    "issue_order",
    "landed",
    "lower_of_cost_and_nrv",
    "respread",
    "run_off_value",
    "share",
    "value_material",
    "variance_totals",
]
