"""Volumes, weights, lengths and counts as a maker writes them, into mL, g, mm and items."""

from collections.abc import Iterable
from decimal import Decimal
from fractions import Fraction

from studio.units.measures import measure_set
from studio.units.numerals import UnitsError
from studio.units.readings import Reading, bounded, readings, total
from studio.units.words import (
    COUNT_WORDS,
    LENGTH_WORDS,
    MASS_WORDS,
    OUNCES,
    QUALIFIERS,
    volume_words,
)

VOLUME_HINT = "a volume such as 250 mL, 1½ tbsp, ¾ cup or 8 fl oz"
MASS_HINT = "a weight such as 450 g, 1.2 kg or 1 lb 2 oz"
LENGTH_HINT = "a length such as 38 mm, 10 cm or 1½ in"
COUNT_HINT = "a whole number of items such as 12"
OUNCE = "“oz” could be a volume or a weight; write fl oz for a volume, or the weight in g or lb."

LARGEST_COUNT = 1_000_000


def parse_volume(text: str, measures: str) -> Decimal:
    """Read a volume, or several to be added up.

    Parameters
    ----------
    text : str
        One or more numbers with units, or a plain number of mL, [-]
    measures : str
        What a spoon and a cup hold: ``"us"``, ``"metric"``, ``"au"`` or ``"imperial"``, [-]

    Returns
    -------
    volume_ml : Decimal
        Volume, exact up to 28 digits, 0.001 mL to 1,000 L, [mL]

    Raises
    ------
    UnitsError
        If the text is not one positive volume of sensible size, with a sentence saying what is.

    Examples
    --------
    >>> parse_volume("1½ tbsp", "us")
    Decimal('22.180147171875')
    >>> parse_volume("2 cups 3 tbsp", "metric")
    Decimal('545')

    References
    ----------
    See :mod:`studio.units.measures`.
    """
    return volume_of(readings(text, VOLUME_HINT), measures)


def volume_of(pairs: Iterable[Reading], measures: str) -> Decimal:
    """Add up readings as mL, a plain number being mL; ``imperial pint`` names its own set."""
    measure_set(measures)
    result = Fraction(0)
    for number, words in pairs:
        first, _, rest = words.partition(" ")
        chosen, unit = (
            (QUALIFIERS[first], rest) if rest and first in QUALIFIERS else (measures, words)
        )
        if unit in OUNCES:
            raise UnitsError(OUNCE)
        result += total([(number, unit)], volume_words(chosen), VOLUME_HINT, plain_factor=1)
    sentence = f"A volume must be between 0.001 mL and 1,000 L; write {VOLUME_HINT}."
    return bounded(result, "0.001", 1_000_000, sentence)


def parse_mass(text: str) -> Decimal:
    """Read a weight, or several to be added up.

    Parameters
    ----------
    text : str
        One or more numbers with units, or a plain number of g, [-]

    Returns
    -------
    mass_g : Decimal
        Mass, exact up to 28 digits, 0.001 g to 1,000 kg, [g]

    Raises
    ------
    UnitsError
        If the text is not one positive weight of sensible size, with a sentence saying what is.

    Examples
    --------
    >>> parse_mass("1 lb 2 oz")
    Decimal('510.29141625')

    References
    ----------
    International Yard and Pound agreement 1959: 1 lb is 0.45359237 kg.
    """
    return mass_of(readings(text, MASS_HINT))


def mass_of(pairs: Iterable[Reading]) -> Decimal:
    """Add up readings as g, a plain number being g."""
    sentence = f"A weight must be between 0.001 g and 1,000 kg; write {MASS_HINT}."
    return bounded(total(pairs, MASS_WORDS, MASS_HINT, 1), "0.001", 1_000_000, sentence)


def parse_length(text: str, default_unit: str | None = None) -> Decimal:
    """Read a length, or several to be added up.

    Parameters
    ----------
    text : str
        One or more numbers with units, [-]
    default_unit : str, optional
        Unit of a plain number, such as ``"mm"`` or ``"in"``; without it a plain number is
        refused, [-]

    Returns
    -------
    length_mm : Decimal
        Length, exact up to 28 digits, 1 µm to 10 m, [mm]

    Raises
    ------
    UnitsError
        If the text is not one positive length of sensible size, with a sentence saying what is.

    Examples
    --------
    >>> parse_length("1½ in")
    Decimal('38.1')
    >>> parse_length("10", default_unit="cm")
    Decimal('100')

    References
    ----------
    International Yard and Pound agreement 1959: 1 in is 25.4 mm.
    """
    pairs = readings(text, LENGTH_HINT)
    value = total(pairs, LENGTH_WORDS, LENGTH_HINT, LENGTH_WORDS.get(default_unit or ""))
    sentence = f"A length must be between 1 µm and 10 m; write {LENGTH_HINT}."
    return bounded(value, "0.001", 10_000, sentence)


def parse_count(text: str) -> Decimal:
    """Read a number of whole items.

    Parameters
    ----------
    text : str
        A whole number, alone or with a word such as ``each`` or ``dozen``, [-]

    Returns
    -------
    count : Decimal
        Whole items, 1 to 1,000,000, [-]

    Raises
    ------
    UnitsError
        If the text is not a positive whole number of sensible size.

    Examples
    --------
    >>> parse_count("12 each")
    Decimal('12')
    """
    value = total(readings(text, COUNT_HINT), COUNT_WORDS, COUNT_HINT, 1)
    if value.denominator != 1:
        raise UnitsError(f"Items are counted whole; write {COUNT_HINT}.")
    sentence = f"A count must be between 1 and {LARGEST_COUNT:,}; write {COUNT_HINT}."
    return bounded(value, 1, LARGEST_COUNT, sentence)
