"""Amounts of stock and value, shared out without losing the last place."""

from collections.abc import Sequence
from decimal import Decimal
from math import lcm

from studio.money import allocate

VALUE_DIGITS = 6


class CostingError(ValueError):
    """Raised when amounts cannot be costed; the text says what is accepted."""


def share(value: Decimal, part: Decimal, whole: Decimal) -> Decimal:
    """Return the value of a part of a lot, all of it when the part is the whole.

    Parameters
    ----------
    value : Decimal
        Value of the whole, [currency]
    part, whole : Decimal
        Quantities, 0 <= part <= whole and whole positive, [mL, g or items]

    Returns
    -------
    value : Decimal
        ``value * part / whole``, rounded half up at six places, [currency]
    """
    if part == whole:
        return value
    # Integers, because a product of two stored amounts may pass the 28 digits of a Decimal.
    micro, (small, large) = _micro(value), _integers([part, whole])
    return _amount((2 * micro * small + large) // (2 * large))


def apportion(total: Decimal, weights: Sequence[Decimal]) -> list[Decimal]:
    """Share a total by weight, exactly, at six places, by largest remainder.

    Parameters
    ----------
    total : Decimal
        Amount to share, at most six places, [currency]
    weights : sequence of Decimal
        Weights, none negative and at least one positive, [-]

    Returns
    -------
    shares : list of Decimal
        One share a weight, adding up to `total`, [currency]; equal remainders go to the earlier.

    Examples
    --------
    >>> [str(part) for part in apportion(Decimal("1"), [Decimal(1), Decimal(1), Decimal(1)])]
    ['0.333334', '0.333333', '0.333333']
    """
    _micro(total)  # refuses more places
    return allocate(total, weights, VALUE_DIGITS)


def _micro(amount: Decimal) -> int:
    """Return an amount as a whole number of its last place, refusing what has more places."""
    units = amount.scaleb(VALUE_DIGITS)
    if units != units.to_integral_value():
        raise CostingError(f"Values have at most six places, and {plain(amount)} has more.")
    return int(units)


def _integers(weights: Sequence[Decimal]) -> list[int]:
    """Return weights as integers in the same proportions."""
    ratios = [weight.as_integer_ratio() for weight in weights]
    common = lcm(*(denominator for _, denominator in ratios))
    return [numerator * (common // denominator) for numerator, denominator in ratios]


def _amount(micro: int) -> Decimal:
    return Decimal(micro).scaleb(-VALUE_DIGITS)


def plain(amount: Decimal) -> str:
    """Write an amount without trailing zeros or an exponent."""
    return f"{amount.normalize():f}"
