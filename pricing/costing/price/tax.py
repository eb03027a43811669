"""Tax inside a price."""

from decimal import ROUND_HALF_UP, Decimal

from pricing.costing.price.errors import PriceError

CENT = Decimal("0.01")


def tax_inside(
    gross: Decimal, rate: Decimal, minor_unit: Decimal = CENT, rounding: str = ROUND_HALF_UP
) -> Decimal:
    """Return the tax contained in a price.

    Parameters
    ----------
    gross : Decimal
        Price with tax, [currency]
    rate : Decimal
        Tax as a share of the price without it, from 0, [-]
    minor_unit : Decimal
        Amount to round to, [currency]
    rounding : str
        Rounding mode of `decimal`, [-]: half up in Australia, half down in New Zealand

    Returns
    -------
    tax : Decimal
        ``gross * rate / (1 + rate)``, rounded, [currency]

    Raises
    ------
    PriceError
        If the rate is below zero.

    Examples
    --------
    >>> tax_inside(Decimal("110.00"), Decimal("0.10"))
    Decimal('10.00')

    References
    ----------
    A New Tax System (Goods and Services Tax) Act 1999 (Australia), s 9-90; Goods and Services Tax
    Act 1985 (New Zealand), s 19O.
    """
    if rate < 0:
        raise PriceError("A tax rate cannot be below zero.")
    units = gross * rate / ((1 + rate) * minor_unit)
    return units.quantize(Decimal(1), rounding) * minor_unit
