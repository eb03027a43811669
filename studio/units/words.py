"""The unit words that are read, and what each counts in storage units. No other word is."""

from collections.abc import Callable, Mapping
from fractions import Fraction
from functools import cache
from typing import TypeVar

from studio.units.measures import factor, measure_set

VOLUME = {
    "ml": "ml mls millilitre millilitres milliliter milliliters cc",
    "cl": "cl centilitre centilitres centiliter centiliters",
    "dl": "dl decilitre decilitres deciliter deciliters",
    "l": "l lt litre litres liter liters",
    "tsp_ml": "tsp tsps teaspoon teaspoons",
    "tbsp_ml": "tbsp tbsps tbs tablespoon tablespoons",
    "cup_ml": "cup cups",
    "fl_oz_ml": "floz",
    "pint_ml": "pint pints pt pts",
    "quart_ml": "quart quarts qt qts",
    "gallon_ml": "gallon gallons gal gals",
}
MASS = {
    "milligram": "mg milligram milligrams",
    "gram": "g gr gram grams gramme grammes",
    "kilogram": "kg kgs kilo kilos kilogram kilograms",
    "ounce": "oz ounce ounces ozwt",
    "pound": "lb lbs pound pounds",
}
LENGTH = {
    "micrometer": "um micron microns",
    "millimeter": "mm millimetre millimetres millimeter millimeters",
    "centimeter": "cm centimetre centimetres centimeter centimeters",
    "meter": "m metre metres meter meters",
    "inch": 'in inch inches "',
    "foot": "ft foot feet '",
    "thou": "thou",
}
COUNT = {1: "each ea item items piece pieces pc pcs", 12: "dozen"}

QUALIFIERS = {
    "us": "us",
    "metric": "metric",
    "australian": "au",
    "imperial": "imperial",
    "imp": "imperial",
    "uk": "imperial",
}

# Words that mean two things to two people, with the question that settles it.
AMBIGUOUS = {
    "t": "“t” could be a teaspoon, a tablespoon or a tonne; write tsp or tbsp.",
    "c": "“c” could be several things; write cup, cl or cm.",
    "mil": "“mil” could be a millilitre, a millimetre or a thousandth of an inch; "
    "write mL, mm or thou.",
}
AMBIGUOUS["mils"] = AMBIGUOUS["mil"]

OUNCES = frozenset({"oz", "ounce", "ounces"})


Unit = TypeVar("Unit")


def _spread(table: Mapping[Unit, str], value: Callable[[Unit], Fraction]) -> dict[str, Fraction]:
    return {word: value(unit) for unit, words in table.items() for word in words.split()}


@cache
def volume_words(measures: str) -> dict[str, Fraction]:
    """Return what each volume word holds in mL under one measure set."""
    chosen = measure_set(measures)
    metric = {"ml": 1, "cl": 10, "dl": 100, "l": 1000}
    return _spread(
        VOLUME, lambda unit: Fraction(metric[unit] if unit in metric else getattr(chosen, unit))
    )


MASS_WORDS = _spread(MASS, lambda unit: Fraction(factor(unit, "gram")))
LENGTH_WORDS = _spread(LENGTH, lambda unit: Fraction(factor(unit, "millimeter")))
COUNT_WORDS = _spread(COUNT, Fraction)

KINDS = (
    dict.fromkeys(" ".join(VOLUME.values()).split(), "volume")
    | dict.fromkeys(MASS_WORDS, "weight")
    | dict.fromkeys(LENGTH_WORDS, "length")
    | dict.fromkeys(COUNT_WORDS, "count")
)
