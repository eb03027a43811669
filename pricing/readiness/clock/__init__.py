"""The clock: how long paint dries and resin cures, by the film, the medium and the room."""

from pricing.readiness.clock.hours import (
    NO_PAINT_C,
    NO_RESIN_C,
    SLOW_C,
    PaintDays,
    paint_days,
    resin_days,
    slowed,
)

__all__ = [
    "NO_PAINT_C",
    "NO_RESIN_C",
    "SLOW_C",
    "PaintDays",
    "paint_days",
    "resin_days",
    "slowed",
]
