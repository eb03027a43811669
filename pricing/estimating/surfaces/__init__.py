"""Surfaces: shapes with a depth, and the area that paint has to wet."""

from pricing.estimating.surfaces.outlines import outline, outline_points
from pricing.estimating.surfaces.shapes import (
    circle,
    oval,
    rectangle,
    regular_polygon,
    ring,
)
from pricing.estimating.surfaces.surface import Surface, SurfaceError

__all__ = [
    "Surface",
    "SurfaceError",
    "circle",
    "outline",
    "outline_points",
    "oval",
    "rectangle",
    "regular_polygon",
    "ring",
]
