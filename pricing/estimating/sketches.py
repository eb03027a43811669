"""A small drawing of a surface's face, so that a list of sizes is told apart at a glance."""

from collections.abc import Sequence
from math import cos, pi, sin

from django.utils.html import format_html, format_html_join
from django.utils.safestring import mark_safe

from pricing.estimating import surfaces
from pricing.models import SavedSurface

BOX, EDGE = 44, 3
# A sketch of an outline needs no more corners than can be seen.
MOST_POINTS = 60


def sketch(surface: SavedSurface) -> str:
    """Return a saved surface's face as inline SVG; what cannot be drawn is left out."""
    try:
        face = _face(surface)
    except surfaces.SurfaceError:
        return ""
    return format_html(
        '<svg class="sketch" width="{0}" height="{0}" viewBox="0 0 {1} {1}" aria-hidden="true" '
        'focusable="false" fill="none" stroke="currentColor" stroke-width="2" '
        'stroke-linejoin="round">{2}</svg>',
        BOX,
        BOX + 2 * EDGE,
        face,
    )


def _face(surface: SavedSurface) -> str:
    if surface.shape == "outline":
        return _polygon(_fitted(surfaces.outline_points(surface.outline)))
    if surface.shape == "polygon":
        return _polygon(_fitted(_corners(surface.sides or 3)))
    scale = BOX / float(max(surface.width_mm, surface.height_mm))
    width, height = float(surface.width_mm) * scale, float(surface.height_mm) * scale
    if surface.shape == "rectangle":
        return _rectangle(surface, width, height)
    ovals = [(width, height)]
    if surface.inner_mm:
        ovals.append((float(surface.inner_mm) * scale,) * 2)
    return format_html_join(
        "",
        '<ellipse cx="{0}" cy="{0}" rx="{1}" ry="{2}"/>',
        ((BOX / 2 + EDGE, round(wide / 2, 1), round(high / 2, 1)) for wide, high in ovals),
    )


def _rectangle(surface: SavedSurface, width: float, height: float) -> str:
    """Draw the four sides; those that stay bare are dashed."""
    x, y = (round(EDGE + (BOX - side) / 2, 1) for side in (width, height))
    width, height = round(width, 1), round(height, 1)
    sides = {
        "top": f"M{x} {y}h{width}",
        "right": f"M{x + width} {y}v{height}",
        "bottom": f"M{x} {y + height}h{width}",
        "left": f"M{x} {y}v{height}",
    }
    is_painted = surface.sides_painted == "all" or not surface.depth_mm
    painted = set(sides) if is_painted else set(surface.sides_painted.split(", "))
    dashes = mark_safe(' stroke-dasharray="3 3"')
    return format_html_join(
        "",
        '<path d="{}"{}/>',
        ((line, "" if side in painted else dashes) for side, line in sides.items()),
    )


def _corners(sides: int) -> list[tuple[float, float]]:
    """Return the corners of a regular polygon that stands on one of its sides."""
    angles = (pi / 2 + pi / sides * (2 * number + 1) for number in range(sides))
    return [(cos(angle), sin(angle)) for angle in angles]


def _fitted(points: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """Scale points into the box, in its middle."""
    points = points[:: -(-len(points) // MOST_POINTS)]
    left, top = (min(axis) for axis in zip(*points, strict=True))
    right, bottom = (max(axis) for axis in zip(*points, strict=True))
    scale = BOX / max(right - left, bottom - top)
    off_x = EDGE + (BOX - (right - left) * scale) / 2 - left * scale
    off_y = EDGE + (BOX - (bottom - top) * scale) / 2 - top * scale
    return [(x * scale + off_x, y * scale + off_y) for x, y in points]


def _polygon(points: Sequence[tuple[float, float]]) -> str:
    corners = " ".join(f"{x:.1f},{y:.1f}" for x, y in points)
    return format_html('<polygon points="{}"/>', corners)
