"""How many sales earn fixed costs back, and what a channel keeps of one."""

from decimal import Decimal
from fractions import Fraction
from math import ceil

from pricing.costing.price.errors import PriceError


def break_even_units(fixed_costs: Decimal, price: Decimal, variable_cost: Decimal) -> int:
    """Return how many must be sold before the fixed costs are earned back.

    Parameters
    ----------
    fixed_costs : Decimal
        Costs that do not depend on the number sold, from 0, [currency]
    price : Decimal
        What one brings, [currency]
    variable_cost : Decimal
        What one costs, fees included, [currency]

    Returns
    -------
    units : int
        Fixed costs over contribution, rounded up, [-]

    Raises
    ------
    PriceError
        If each one sold brings no more than it costs.

    Examples
    --------
    >>> break_even_units(Decimal(18000), Decimal(100), Decimal(20))
    225

    References
    ----------
    OpenStax, *Principles of Accounting, Volume 2: Managerial Accounting*, ch. 3.
    """
    if price <= variable_cost:
        raise PriceError(
            f"At a price of {price} and a cost of {variable_cost} each, no number sold earns the "
            "fixed costs back: raise the price or lower the cost."
        )
    return ceil(Fraction(fixed_costs) / Fraction(price - variable_cost))


def fees(
    gross: Decimal,
    percent: Decimal,
    fixed: Decimal,
    shipping: Decimal = Decimal(0),
    percent_on_shipping: bool = True,
) -> Decimal:
    """Return what a channel or card company keeps of a sale.

    Parameters
    ----------
    gross : Decimal
        Price of the goods, tax included, [currency]
    percent : Decimal
        Fee as a share of the price, [-]
    fixed : Decimal
        Fee for each sale, [currency]
    shipping : Decimal
        Shipping charged to the customer, [currency]
    percent_on_shipping : bool
        Whether the share is also taken of the shipping, [-]

    Returns
    -------
    fees : Decimal
        Exact, not rounded, [currency]

    Examples
    --------
    6.5 % of an item at 50 and its shipping at 10:

    >>> fees(Decimal(50), Decimal("0.065"), Decimal(0), shipping=Decimal(10))
    Decimal('3.900')
    """
    return (gross + (shipping if percent_on_shipping else 0)) * percent + fixed
