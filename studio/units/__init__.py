"""Volumes, weights, lengths, counts and sizes, read and written as makers do.

Storage units are mL, g, mm and whole items, as ``Decimal``. Everything here is pure, and every
refusal is a :class:`UnitsError` whose text is one sentence for the person who typed.
"""

from studio.units.amounts import parse_count, parse_length, parse_mass, parse_volume
from studio.units.formats import format_length, format_mass, format_volume
from studio.units.kitchen import both, kitchen_measure, round_up_to_measure
from studio.units.materials import g_to_ml, ml_to_g, parse_amount
from studio.units.measures import MEASURES, QUANTITY_PLACES, MeasureSet
from studio.units.numerals import UnitsError
from studio.units.size_grammar import parse_size
from studio.units.sizes import ParsedSize, format_size
from studio.units.temperatures import (
    degrees,
    format_temperature,
    parse_temperature,
    temperature_unit,
)

__all__ = [
    "MEASURES",
    "QUANTITY_PLACES",
    "MeasureSet",
    "ParsedSize",
    "UnitsError",
    "both",
    "degrees",
    "format_length",
    "format_mass",
    "format_size",
    "format_temperature",
    "format_volume",
    "g_to_ml",
    "kitchen_measure",
    "ml_to_g",
    "parse_amount",
    "parse_count",
    "parse_length",
    "parse_mass",
    "parse_size",
    "parse_temperature",
    "parse_volume",
    "round_up_to_measure",
    "temperature_unit",
]
