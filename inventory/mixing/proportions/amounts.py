"""Exact amounts, and rounding that keeps running totals true."""

from collections.abc import Iterable
from decimal import Decimal
from fractions import Fraction
from itertools import accumulate, pairwise
from math import floor, isfinite

from inventory.mixing.proportions.errors import MixingError

LEDGER_PLACES = Decimal("0.0001")

Number = int | float | Decimal | Fraction


def positive(value: Number, what: str) -> Fraction:
    """Return a number above zero as an exact fraction.

    Parameters
    ----------
    value : int, float, Decimal or Fraction
        The number, above zero, [any unit]
    what : str
        What to call it in the refusal, as the start of a sentence, [-]

    Returns
    -------
    value : Fraction
        The same number, exact, [its unit]

    Raises
    ------
    MixingError
        If it is not a finite number above zero.

    Examples
    --------
    >>> positive(Decimal("0.25"), "A volume")
    Fraction(1, 4)
    """
    if not isfinite(value) or value <= 0:
        raise MixingError(f"{what} must be a number above zero, not {value}.")
    return exact(value)


def exact(value: Number) -> Fraction:
    """Return a finite number as a fraction, a float as the decimal it is written as.

    A film of 6.4 mm is then two of 3.2 mm, where the float's own binary value would be more.

    Parameters
    ----------
    value : int, float, Decimal or Fraction
        The number, finite, [any unit]

    Returns
    -------
    value : Fraction
        The same number, [its unit]

    Examples
    --------
    >>> exact(6.4)
    Fraction(32, 5)
    """
    return Fraction(str(value)) if isinstance(value, float) else Fraction(value)


def decimal(value: Fraction) -> Decimal:
    """Return a fraction as a Decimal, exact where it ends within 28 digits.

    Parameters
    ----------
    value : Fraction
        Any amount, [any unit]

    Returns
    -------
    value : Decimal
        The same amount, [its unit]

    Examples
    --------
    >>> decimal(Fraction(5, 4))
    Decimal('1.25')
    """
    return Decimal(value.numerator) / Decimal(value.denominator)


def finest(places: Decimal, *amounts: Decimal) -> Decimal:
    """Return the last place that writes every amount exactly, and is at least as fine as asked.

    Parameters
    ----------
    places : Decimal
        A last place such as 0.001, [any unit]
    amounts : Decimal
        Amounts to be written without loss, [the same unit]

    Returns
    -------
    places : Decimal
        A power of ten, [the same unit]

    Examples
    --------
    >>> finest(Decimal("0.1"), Decimal("2.125"), Decimal("40"))
    Decimal('0.001')
    """
    ends = (int(amount.normalize().as_tuple().exponent) for amount in (places, *amounts))
    return Decimal(1).scaleb(min(ends))


def rounded(amounts: Iterable[Fraction], places: Decimal) -> tuple[Decimal, ...]:
    """Round amounts so that each running total is the exact running total, rounded half up.

    Each amount is the difference of two rounded running totals. A person who follows a scale's
    running total therefore never drifts, each amount is off by less than one last place, and one
    that needs no rounding is left as it is.

    Parameters
    ----------
    amounts : iterable of Fraction
        Amounts in order, none negative, [any unit]
    places : Decimal
        The last place to keep, [the same unit]

    Returns
    -------
    amounts : tuple of Decimal
        Rounded amounts, adding up to the rounded total, [the same unit]

    Examples
    --------
    >>> [str(part) for part in rounded([Fraction(10, 3)] * 3, Decimal("0.1"))]
    ['3.3', '3.4', '3.3']
    """
    totals = accumulate(amounts, initial=Fraction(0))
    ticks = [floor(total / Fraction(places) + Fraction(1, 2)) for total in totals]
    return tuple((after - before) * places for before, after in pairwise(ticks))
