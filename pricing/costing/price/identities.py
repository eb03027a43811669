"""Identities between cost, price, margin and fees, and the plain rules makers use."""

from decimal import Decimal
from fractions import Fraction
from math import ceil

from pricing.costing.price.errors import PriceError

MM_PER_INCH = Decimal("25.4")


def margin_from_markup(markup: Decimal) -> Decimal:
    """Return the margin, a share of the price, that a markup on cost gives.

    Parameters
    ----------
    markup : Decimal
        Profit as a share of cost, above -1, [-]

    Returns
    -------
    margin : Decimal
        ``markup / (1 + markup)``, [-]

    Raises
    ------
    PriceError
        If the markup takes the whole price away.

    Examples
    --------
    >>> margin_from_markup(Decimal("0.25"))
    Decimal('0.2')
    """
    if markup <= -1:
        raise PriceError("A markup is above -100 % of the cost.")
    return markup / (1 + markup)


def markup_from_margin(margin: Decimal) -> Decimal:
    """Return the markup on cost that gives a margin.

    Parameters
    ----------
    margin : Decimal
        Profit as a share of the price, below 1, [-]

    Returns
    -------
    markup : Decimal
        ``margin / (1 - margin)``, [-]

    Raises
    ------
    PriceError
        If the margin is the whole price or more.

    Examples
    --------
    >>> markup_from_margin(Decimal("0.2"))
    Decimal('0.25')
    """
    if margin >= 1:
        raise PriceError("A margin is below 100 % of the price.")
    return margin / (1 - margin)


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


def contribution_ratio(price: Decimal, variable_cost: Decimal) -> Decimal:
    """Return the share of a price that is left after its variable cost.

    Parameters
    ----------
    price : Decimal
        What one brings, above zero, [currency]
    variable_cost : Decimal
        What one costs, fees included, [currency]

    Returns
    -------
    ratio : Decimal
        ``(price - variable_cost) / price``, [-]

    Examples
    --------
    >>> contribution_ratio(Decimal(100), Decimal(20))
    Decimal('0.8')
    """
    if not price > 0:
        raise PriceError("A contribution ratio needs a price above zero.")
    return (price - variable_cost) / price


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


def per_square_inch(width_mm: Decimal, height_mm: Decimal, rate: Decimal) -> Decimal:
    """Return the price by area: so much a square inch.

    Parameters
    ----------
    width_mm, height_mm : Decimal
        Size of the face, [mm]
    rate : Decimal
        Price of a square inch, [currency/in2]

    Returns
    -------
    price : Decimal
        Not rounded, [currency]

    Examples
    --------
    >>> per_square_inch(Decimal("203.2"), Decimal(254), Decimal(5)) == 80 * 5
    True

    References
    ----------
    Common practice, no source.
    """
    return (width_mm / MM_PER_INCH) * (height_mm / MM_PER_INCH) * rate


def per_united_inch(width_mm: Decimal, height_mm: Decimal, rate: Decimal) -> Decimal:
    """Return the price by united inches: so much an inch of width plus height.

    Parameters
    ----------
    width_mm, height_mm : Decimal
        Size of the face, [mm]
    rate : Decimal
        Price of a united inch, [currency/in]

    Returns
    -------
    price : Decimal
        Not rounded, [currency]

    Examples
    --------
    >>> per_united_inch(Decimal("304.8"), Decimal("304.8"), Decimal(6)) == 24 * 6
    True

    References
    ----------
    Common practice, no source.
    """
    return (width_mm + height_mm) / MM_PER_INCH * rate
