"""Volumes, weights and lengths as text, to as many digits as a person can use."""

from collections.abc import Callable
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction

from studio.units.numerals import UnitsError, as_decimal, mixed_number, significant, trimmed

SYSTEMS = {"in": Decimal("25.4"), "cm": Decimal(10), "mm": Decimal(1)}


def signed(number: Decimal, write: Callable[[Decimal], str]) -> str:
    """Write a number by its size, with a true minus sign before it when it is negative."""
    return f"−{write(-number)}" if number < 0 else write(number)


def _scaled(number: Decimal, digits: int, unit: str, large_unit: str) -> str:
    number = significant(number, digits)
    if number < 1000:
        return f"{trimmed(number)} {unit}"
    return f"{trimmed(number / 1000)} {large_unit}"


def format_volume(volume_ml: Decimal | float) -> str:
    """Write a volume in mL, or in L from 1,000 mL.

    Parameters
    ----------
    volume_ml : Decimal, int or float
        Volume, [mL]

    Returns
    -------
    text : str
        Two significant digits below 100 mL (within 5 %), three from there (within 0.5 %), [-]

    Raises
    ------
    UnitsError
        If it is not a finite number.

    Examples
    --------
    >>> format_volume(Decimal("22.18")), format_volume(473.18), format_volume(3785)
    ('22 mL', '473 mL', '3.79 L')
    """
    number = as_decimal(volume_ml, "A volume")
    return signed(number, lambda size: _scaled(size, 2 if size < 100 else 3, "mL", "L"))


def format_mass(mass_g: Decimal | float) -> str:
    """Write a mass in g, or in kg from 1,000 g.

    Parameters
    ----------
    mass_g : Decimal, int or float
        Mass, [g]

    Returns
    -------
    text : str
        Three significant digits (within 0.5 %), [-]

    Raises
    ------
    UnitsError
        If it is not a finite number.

    Examples
    --------
    >>> format_mass(Decimal("22.18")), format_mass(1500)
    ('22.2 g', '1.5 kg')
    """
    number = as_decimal(mass_g, "A weight")
    return signed(number, lambda size: _scaled(size, 3, "g", "kg"))


def length_number(length_mm: Decimal | float, system: str) -> str:
    """Write a non-negative length's number in one unit, without the unit.

    Inches are written as sixteenths where they are that close, since rulers and canvases are.
    Rounding is to 0.01 of the unit, or 0.001 below one unit: never more than 0.13 mm away.
    """
    if system not in SYSTEMS:
        raise UnitsError(f"Lengths are written in one of {', '.join(SYSTEMS)}.")
    number = as_decimal(length_mm, "A length") / SYSTEMS[system]
    step = Decimal("0.01") if number >= 1 else Decimal("0.001")
    if system == "in":
        sixteenths = (number * 16).to_integral_value(ROUND_HALF_UP)
        if sixteenths and abs(number - sixteenths / 16) <= step / 2:
            return mixed_number(Fraction(int(sixteenths), 16))
    return trimmed(number.quantize(step, ROUND_HALF_UP))


def format_length(length_mm: Decimal | float, system: str = "mm") -> str:
    """Write a length in inches, centimetres or millimetres.

    Parameters
    ----------
    length_mm : Decimal, int or float
        Length, [mm]
    system : str, optional
        ``"in"``, ``"cm"`` or ``"mm"``, [-]

    Returns
    -------
    text : str
        The length and its unit, within 0.13 mm (in), 0.05 mm (cm) or 0.005 mm (mm), [-]

    Raises
    ------
    UnitsError
        If it is not a finite number, or the system is another.

    Examples
    --------
    >>> format_length(Decimal("38.1"), "in"), format_length(38, "cm"), format_length(38)
    ('1½ in', '3.8 cm', '38 mm')
    """
    number = as_decimal(length_mm, "A length")
    return signed(number, lambda size: f"{length_number(size, system)} {system}")
