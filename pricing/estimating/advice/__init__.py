"""Advice with numbers: what was computed, the limit, and where the limit comes from.

Every check answers, whether or not its limit is passed; `warnings` keeps those that are.
"""

from pricing.estimating.advice.drying import (
    PRIMER_DAYS,
    SEALER_DAYS,
    VARNISH_DAYS,
    Stage,
    days_to_dry,
    early_topcoat,
)
from pricing.estimating.advice.film import (
    as_advised,
    crazing,
    face_film_mm,
    film_mm,
    let_run_off,
    outside_measured,
    short_of_sides,
)
from pricing.estimating.advice.finding import (
    NO_SOURCE,
    PAINT_MAKERS,
    RESIN_MAKERS,
    Advice,
    AdviceError,
    number,
    warnings,
)
from pricing.estimating.advice.mixes import (
    off_trace,
    silicone_in_base,
    silicone_under_topcoat,
    thin_colours,
)
from pricing.estimating.advice.room import resin_humidity, resin_temperature

__all__ = [
    "NO_SOURCE",
    "PAINT_MAKERS",
    "PRIMER_DAYS",
    "RESIN_MAKERS",
    "SEALER_DAYS",
    "VARNISH_DAYS",
    "Advice",
    "AdviceError",
    "Stage",
    "as_advised",
    "crazing",
    "days_to_dry",
    "early_topcoat",
    "face_film_mm",
    "film_mm",
    "let_run_off",
    "number",
    "off_trace",
    "outside_measured",
    "resin_humidity",
    "resin_temperature",
    "short_of_sides",
    "silicone_in_base",
    "silicone_under_topcoat",
    "thin_colours",
    "warnings",
]
