"""The clock: how long paint dries and resin cures, by film, medium and room, or by weight."""

from pricing.readiness.clock.hours import (
    NO_PAINT_C,
    NO_RESIN_C,
    SLOW_C,
    PaintDays,
    paint_days,
    resin_days,
    slowed,
)
from pricing.readiness.clock.weight import constant_since, still_loses, weight_limit

__all__ = [
    "NO_PAINT_C",
    "NO_RESIN_C",
    "SLOW_C",
    "PaintDays",
    "constant_since",
    "paint_days",
    "resin_days",
    "slowed",
    "still_loses",
    "weight_limit",
]
