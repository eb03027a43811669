"""What work costs, what to charge for it, and what was earned.

`sessions` says how often pieces are poured until enough are well, `cost` adds up a cost line by
line, `charge` turns it into a price, `offer` prices several lines at once, `parts` says where a
price goes, also beside others, `risk` how likely it is to be too little, `learned` what the record
says of success and minutes, `rules` fits makers' rules to prices, `earnings` looks back at a sale,
`identities` and `tax` hold the equations of breaking even, fees and tax.
"""

from pricing.costing.price.charge import Price, price
from pricing.costing.price.cost import (
    FINISHED,
    PREPARED,
    Cost,
    CostLine,
    MaterialCost,
    StepTime,
    cost_of,
)
from pricing.costing.price.earnings import Profit, profit
from pricing.costing.price.errors import PriceError
from pricing.costing.price.identities import break_even_units, fees
from pricing.costing.price.learned import TimedSession, session_minutes, success_rate
from pricing.costing.price.offer import Offer, OfferLine, Terms, ToPrice, offer
from pricing.costing.price.parts import PricePart, beside, price_parts, shown_parts
from pricing.costing.price.risk import RiskyLayer, RiskyLine, chances_above
from pricing.costing.price.rules import fitted_rate
from pricing.costing.price.sessions import Sessions, sessions
from pricing.costing.price.tax import tax_inside

__all__ = [
    "FINISHED",
    "PREPARED",
    "Cost",
    "CostLine",
    "MaterialCost",
    "Offer",
    "OfferLine",
    "Price",
    "PriceError",
    "PricePart",
    "Profit",
    "RiskyLayer",
    "RiskyLine",
    "Sessions",
    "StepTime",
    "Terms",
    "TimedSession",
    "ToPrice",
    "beside",
    "break_even_units",
    "chances_above",
    "cost_of",
    "fees",
    "fitted_rate",
    "offer",
    "price",
    "price_parts",
    "profit",
    "session_minutes",
    "sessions",
    "shown_parts",
    "success_rate",
    "tax_inside",
]
