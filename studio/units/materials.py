"""Amounts of a material in the unit it is counted in, and between weight and volume."""

from decimal import Decimal
from fractions import Fraction
from typing import Protocol

from studio.units.amounts import MASS_HINT, OUNCE, VOLUME_HINT, mass_of, parse_count, volume_of
from studio.units.numerals import UnitsError, as_decimal, exact_decimal
from studio.units.readings import kind_of, readings
from studio.units.words import OUNCES


class Counted(Protocol):
    """A material, as far as its amounts go: its unit, and its density where known, [g/mL]."""

    @property
    def unit(self) -> str: ...

    @property
    def density_g_per_ml(self) -> Decimal | None: ...

    def get_unit_display(self) -> str: ...


def parse_amount(text: str, unit: str, measures: str, density: Decimal | None = None) -> Decimal:
    """Read an amount of a material in the unit it is counted in.

    Parameters
    ----------
    text : str
        What was typed: a volume, a weight, a count, or a plain number in `unit`, [-]
    unit : str
        How the material is counted: ``"ml"``, ``"g"`` or ``"each"``, [-]
    measures : str
        What a spoon and a cup hold: ``"us"``, ``"metric"``, ``"au"`` or ``"imperial"``, [-]
    density : Decimal, optional
        The material's density, which lets a weight stand for a volume and the reverse, [g/mL]

    Returns
    -------
    amount : Decimal
        Amount in `unit`, [mL], [g] or [-]

    Raises
    ------
    UnitsError
        If the text is not one positive amount, or is a weight of a material counted by volume
        (or the reverse) whose density is not known.

    Examples
    --------
    >>> parse_amount("130 g", "ml", "metric", density=Decimal("1.3"))
    Decimal('100')
    """
    if unit == "each":
        return parse_count(text)
    if unit not in ("ml", "g"):
        raise UnitsError("A material is counted in ml, g or each.")
    pairs = readings(text, VOLUME_HINT if unit == "ml" else MASS_HINT)
    kinds = {kind_of(words) for _, words in pairs}
    if unit == "ml" and kinds == {"weight"}:
        if all(words in OUNCES for _, words in pairs):
            raise UnitsError(OUNCE)
        return g_to_ml(mass_of(pairs), _known(density, "volume", "mL"))
    if unit == "g" and kinds == {"volume"}:
        return ml_to_g(volume_of(pairs, measures), _known(density, "weight", "g"))
    return volume_of(pairs, measures) if unit == "ml" else mass_of(pairs)


def _known(density: Decimal | None, kind: str, unit: str) -> Decimal:
    if density is None:
        raise UnitsError(
            f"This material is counted by {kind} and its density is not known; "
            f"give the amount in {unit}, or enter its density first."
        )
    return density


def _density(density: Decimal) -> Decimal:
    value = as_decimal(density, "A density")
    if not Decimal("0.1") <= value <= 25:
        raise UnitsError("A density must be between 0.1 and 25 g/mL.")
    return value


def ml_to_g(volume_ml: Decimal, density: Decimal) -> Decimal:
    """Return the mass of a volume.

    Parameters
    ----------
    volume_ml : Decimal
        Volume, [mL]
    density : Decimal
        Density, 0.1 to 25, [g/mL]

    Returns
    -------
    mass_g : Decimal
        Mass, to 28 digits, [g]

    Raises
    ------
    UnitsError
        If the density is outside its range, or either is not a number.

    Examples
    --------
    >>> ml_to_g(Decimal(250), Decimal("1.1"))
    Decimal('275')
    """
    volume = Fraction(as_decimal(volume_ml, "A volume"))
    return exact_decimal(volume * Fraction(_density(density)))


def g_to_ml(mass_g: Decimal, density: Decimal) -> Decimal:
    """Return the volume of a mass.

    Parameters
    ----------
    mass_g : Decimal
        Mass, [g]
    density : Decimal
        Density, 0.1 to 25, [g/mL]

    Returns
    -------
    volume_ml : Decimal
        Volume, to 28 digits, [mL]

    Raises
    ------
    UnitsError
        If the density is outside its range, or either is not a number.

    Examples
    --------
    >>> g_to_ml(Decimal(275), Decimal("1.1"))
    Decimal('250')
    """
    mass = Fraction(as_decimal(mass_g, "A weight"))
    return exact_decimal(mass / Fraction(_density(density)))
