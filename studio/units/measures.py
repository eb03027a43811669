"""What a teaspoon, a tablespoon, a cup and a fluid ounce hold, and every other unit's factor.

One pint registry supplies the factors. Text that somebody typed never reaches pint's own parser,
which reads ``fl oz`` as femtolitre-ounces, ``mil`` as an angle and ``pinch`` as a pico-inch, and
which can be kept busy for ever by ``9**9**9``: only the unit names in this file do.

References
----------
US customary: NIST Handbook 44, appendix C (gallon of 231 cubic inches).
Imperial gallon, pint and fluid ounce: UK Weights and Measures Act 1985, schedule 1, as enacted.
Metric spoons of 5 and 15 mL and cup of 250 mL: common metric usage. Australian tablespoon of
20 mL: the metric cup and spoon sets approved by the Standards Association of Australia.
From memory, no source seen: the imperial tablespoon of 5/8 fluid ounce, the teaspoon of a third of
it, and the cup of half an imperial pint. In the metric and Australian sets a fluid ounce, pint,
quart and gallon are the US ones, as on most imported paint and resin bottles (common practice, no
source); ``imperial pint`` and the like are read in every set.
"""

from dataclasses import dataclass
from decimal import Decimal
from functools import cache

import pint

from studio.units.numerals import UnitsError

registry: "pint.UnitRegistry[Decimal]" = pint.UnitRegistry(non_int_type=Decimal)
for definition in (
    "metric_teaspoon = 5 * milliliter",
    "metric_tablespoon = 15 * milliliter",
    "metric_cup = 250 * milliliter",
    "australian_tablespoon = 20 * milliliter",
    "imperial_tablespoon = 5 * imperial_fluid_ounce / 8",
    "imperial_teaspoon = imperial_tablespoon / 3",
):
    registry.define(definition)

# Amounts are kept to four places of the mL, the g or the item.
QUANTITY_PLACES = Decimal("0.0001")


@cache
def factor(unit: str, base: str) -> Decimal:
    """Return how many `base` units one `unit` holds; both are names of pint's registry.

    Division inside pint leaves noise in the 28th digit, which 16 decimals take off: every factor
    used here but the imperial teaspoon's ends sooner.
    """
    magnitude = registry.Quantity(Decimal(1), unit).to(base).magnitude
    return Decimal(f"{magnitude.quantize(Decimal('1e-16')).normalize():f}")


@dataclass(frozen=True)
class MeasureSet:
    """One country's spoons and cups, each as its volume, [mL]."""

    slug: str
    label: str
    tsp_ml: Decimal
    tbsp_ml: Decimal
    cup_ml: Decimal
    fl_oz_ml: Decimal
    pint_ml: Decimal
    quart_ml: Decimal
    gallon_ml: Decimal


def _measure_set(slug: str, label: str, *units: str) -> MeasureSet:
    return MeasureSet(slug, label, *(factor(unit, "milliliter") for unit in units))


US_BOTTLES = ("US_fluid_ounce", "US_pint", "US_liquid_quart", "US_liquid_gallon")

MEASURES = {
    "us": _measure_set(
        "us",
        "US customary (tablespoon 14.8 mL, cup 237 mL)",
        *("teaspoon", "tablespoon", "US_liquid_cup", *US_BOTTLES),
    ),
    "metric": _measure_set(
        "metric",
        "Metric (tablespoon 15 mL, cup 250 mL)",
        *("metric_teaspoon", "metric_tablespoon", "metric_cup", *US_BOTTLES),
    ),
    "au": _measure_set(
        "au",
        "Australian (tablespoon 20 mL, cup 250 mL)",
        *("metric_teaspoon", "australian_tablespoon", "metric_cup", *US_BOTTLES),
    ),
    "imperial": _measure_set(
        "imperial",
        "Imperial (tablespoon 17.8 mL, cup 284 mL)",
        *("imperial_teaspoon", "imperial_tablespoon", "imperial_cup"),
        *("imperial_fluid_ounce", "imperial_pint", "imperial_quart", "imperial_gallon"),
    ),
}


def measure_set(slug: str) -> MeasureSet:
    """Return the set called `slug`, or refuse a name that is not one."""
    try:
        return MEASURES[slug]
    except (KeyError, TypeError):
        raise UnitsError(f"Measures are one of {', '.join(MEASURES)}.") from None
