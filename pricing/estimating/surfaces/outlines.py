"""Any outline: points, or a simple SVG path, flattened to a polygon with a stated error."""

import re
from collections.abc import Sequence, Sized
from typing import Protocol

import numpy as np
from numpy.typing import NDArray
from svg.path import Line, Move, parse_path
from svg.path.path import Close

from pricing.estimating.surfaces.surface import (
    LONGEST_MM,
    Surface,
    SurfaceError,
    measured,
    share_of_sides,
    surface,
)

# A curve is cut until its pieces leave the chord by no more than this, [mm].
FLATNESS_MM = 0.05
LONGEST_TEXT = 20_000
MOST_POINTS = 2_000
# What is taken once is never given back (++, ?>), so a reading takes no more steps than characters.
# Of a group it is ?> and not *+, which until Python 3.11.5 kept half of a repetition that failed.
_NUMBER = r"[-+]?+(?:\d++(?>(?:\.\d++)?)|\.\d++)"
_POINT = rf"{_NUMBER}\s*+,\s*+{_NUMBER}"
_NUMBERS = re.compile(_NUMBER)
_POINTS = re.compile(rf"\s*+{_POINT}(?>(?:[\s;]++{_POINT})*)\s*+")
_NO_OUTLINE = (
    "An outline is points such as “0,0 200,0 200,100”, or an SVG path such as "
    "“M 0 0 L 200 0 L 200 100 Z”, in millimetres."
)

Floats = NDArray[np.float64]


class Curve(Protocol):
    """A piece of a path that is no straight line."""

    def point(self, pos: float, /) -> complex: ...


def outline(
    drawing: str | Sequence[tuple[float, float]],
    depth_mm: float = 0.0,
    painted_sides: str | float = "all",
    inset_mm: float = 0.0,
) -> Surface:
    """Return a surface of any outline.

    Parameters
    ----------
    drawing : str or sequence of (float, float)
        Corner points ``"0,0 200,0 200,100"``, an SVG path of one closed line, or the points, [mm]
    depth_mm : float
        Depth of the sides, [mm]
    painted_sides : str or float
        ``"all"``, ``"none"`` or a share of the perimeter, [-]
    inset_mm : float
        Width of the bevel, [mm]; the flat face is exact as long as the bevel leaves some of every
        edge, and understated where it takes a short one away

    Returns
    -------
    surface : Surface
        Exact for points; curves become chords that stay within 0.05 mm, so that the area is out by
        less than 0.05 mm times the perimeter, and the length of a curve of radius r is short by
        less than 0.02 mm / r of itself, [-]

    Raises
    ------
    SurfaceError
        If the drawing has fewer than three points or too many, crosses itself, has no area, or
        cannot be read.

    Examples
    --------
    >>> outline("0,0 200,0 200,100 0,100").top_area_mm2
    20000.0

    References
    ----------
    Area by the trapezoid formula of Gauss; the offset polygon's area is
    ``A - i P + i^2 sum(tan(turn / 2))`` over its corners (J. Steiner, 1840, with mitred corners).
    """
    points = _corners(_points(drawing))
    edges = np.roll(points, -1, axis=0) - points
    perimeter = float(np.hypot(edges[:, 0], edges[:, 1]).sum())
    turned = float(_cross(points, np.roll(points, -1, axis=0)).sum()) / 2
    if _crosses_itself(points, edges):
        raise SurfaceError("The outline crosses itself. Draw it as one line around the shape.")
    area = abs(turned)
    if area <= 1e-9 * perimeter**2:
        raise SurfaceError("The outline encloses no area.")
    inset = measured(inset_mm, "bevel", zero=True)
    flat = _within(area, perimeter, edges if turned > 0 else edges * [1, -1], inset)
    return surface("outline", area, perimeter, depth_mm, share_of_sides(painted_sides), flat)


def outline_points(drawing: str | Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """Return the corners of an outline, its curves as chords, to draw it or to measure across it.

    Parameters
    ----------
    drawing : str or sequence of (float, float)
        As for `outline`, [mm]

    Returns
    -------
    points : list of (float, float)
        In the order they are drawn, [mm]

    Raises
    ------
    SurfaceError
        If the drawing cannot be read or has fewer than three corners.

    Examples
    --------
    >>> outline_points("0,0 200,0 200,100")
    [(0.0, 0.0), (200.0, 0.0), (200.0, 100.0)]
    """
    return [(float(x), float(y)) for x, y in _corners(_points(drawing))]


def _within(area: float, perimeter: float, edges: Floats, inset: float) -> float:
    """Return the area of an outline drawn in by a bevel, or nothing where it leaves none."""
    if not inset:
        return area
    before = np.roll(edges, 1, axis=0)
    turns = np.arctan2(_cross(before, edges), (before * edges).sum(axis=1))
    lengths = np.hypot(edges[:, 0], edges[:, 1])
    # What a corner takes off its edges; no more than the shorter one has.
    most = np.minimum(lengths, np.roll(lengths, 1)) / inset
    corners = float(np.clip(np.tan(turns / 2), -most, most).sum())
    if 2 * corners * inset >= perimeter:  # past here a bevel wider than the piece would give area
        return 0.0
    return area - inset * perimeter + inset**2 * corners


def _points(drawing: str | Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    if not isinstance(drawing, str):
        try:
            points = [(float(x), float(y)) for x, y in drawing]
        except (TypeError, ValueError):
            raise SurfaceError("Every point of an outline needs two numbers.") from None
    elif len(drawing) > LONGEST_TEXT:
        raise SurfaceError(f"The outline's text may have at most {LONGEST_TEXT} characters.")
    elif _POINTS.fullmatch(drawing):
        numbers = [float(text) for text in _NUMBERS.findall(drawing)]
        points = list(zip(numbers[::2], numbers[1::2], strict=True))
    else:
        points = _path(drawing)
    _check_number(points)
    return points


def _check_number(points: Sized) -> None:
    if len(points) > MOST_POINTS:
        raise SurfaceError(f"An outline may have at most {MOST_POINTS} points.")


def _corners(points: list[tuple[float, float]]) -> Floats:
    """Return the points as an array, each corner once."""
    corners: Floats = np.array(points, dtype=float).reshape(-1, 2)
    if not (np.abs(corners) <= LONGEST_MM).all():
        raise SurfaceError(f"Points of an outline lie within {LONGEST_MM:,.0f} mm of the origin.")
    corners = corners[(corners != np.roll(corners, 1, axis=0)).any(axis=1)]
    if len(corners) < 3:
        raise SurfaceError("An outline needs at least three different points.")
    return corners


def _path(text: str) -> list[tuple[float, float]]:
    try:
        parts = list(parse_path(text))
    except Exception as error:  # the parser raises many kinds on text that is no path
        raise SurfaceError(_NO_OUTLINE) from error
    if sum(isinstance(part, Move) for part in parts) > 1:
        raise SurfaceError("An outline is one closed line: this path has several.")
    points: list[complex] = []
    for part in parts:
        if isinstance(part, (Move, Line, Close)):
            points.append(part.end)
        else:
            _check_reach(part)
            points.extend(_flattened(part, 0.0, 1.0, part.point(0.0), part.point(1.0), depth=0))
        _check_number(points)
    return [(point.real, point.imag) for point in points]


def _check_reach(curve: object) -> None:
    """Refuse a curve so large that it would be cut into very many pieces."""
    names = ("start", "end", "control", "control1", "control2", "radius")
    if not all(abs(getattr(curve, name, 0)) <= 2 * LONGEST_MM for name in names):
        raise SurfaceError(f"An outline may be at most {LONGEST_MM:,.0f} mm wide.")


def _flattened(
    curve: Curve, start: float, end: float, first: complex, last: complex, depth: int
) -> list[complex]:
    """Cut a curve in half until the quarter points of every piece lie on its chord."""
    middle = (start + end) / 2
    halfway = curve.point(middle)
    quarters = (curve.point((start + middle) / 2), halfway, curve.point((middle + end) / 2))
    if depth > 2 and all(_off_chord(point, first, last) <= FLATNESS_MM for point in quarters):
        return [last]
    if depth > 10:  # 2048 pieces: too many points anyway
        return [last]
    return _flattened(curve, start, middle, first, halfway, depth + 1) + _flattened(
        curve, middle, end, halfway, last, depth + 1
    )


def _off_chord(point: complex, first: complex, last: complex) -> float:
    chord = last - first
    if not abs(chord):
        return abs(point - first)
    return abs((chord.conjugate() * (point - first)).imag) / abs(chord)


def _cross(a: Floats, b: Floats) -> Floats:
    return a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0]


def _crosses_itself(points: Floats, edges: Floats) -> bool:
    """Tell whether an edge meets one that is not its neighbour, or turns straight back on it."""
    before = np.roll(edges, 1, axis=0)
    if ((_cross(before, edges) == 0) & ((before * edges).sum(axis=1) < 0)).any():
        return True
    ends = points + edges
    count = len(points)
    for place in range(count - 2):
        others = slice(place + 2, count - 1 if place == 0 else count)
        if _meets(points[place], ends[place], points[others], ends[others]):
            return True
    return False


def _meets(a: Floats, b: Floats, starts: Floats, ends: Floats) -> bool:
    """Tell whether the edge from a to b meets any of the others, touching included."""
    start_side, end_side = _cross(b - a, starts - a), _cross(b - a, ends - a)
    a_side, b_side = _cross(ends - starts, a - starts), _cross(ends - starts, b - starts)
    apart = (np.maximum(starts, ends) < np.minimum(a, b)).any(axis=1) | (
        np.minimum(starts, ends) > np.maximum(a, b)
    ).any(axis=1)
    across = (np.sign(start_side) * np.sign(end_side) <= 0) & (
        np.sign(a_side) * np.sign(b_side) <= 0
    )
    return bool((across & ~apart).any())
