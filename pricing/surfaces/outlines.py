"""Any outline: points, or a simple SVG path, flattened to a polygon with a stated error."""

import re
from math import hypot, isfinite

from svg.path import Line, Move, parse_path
from svg.path.path import Close

from pricing.surfaces.shapes import SurfaceError, _share, measured, surface

# A curve is cut until its pieces leave the chord by no more than this, [mm].
FLATNESS_MM = 0.05
LONGEST_TEXT = 20_000
MOST_POINTS = 5_000
_NUMBERS = re.compile(r"[-+]?\d*\.?\d+")
_POINTS = re.compile(r"\s*[-+\d.]+\s*,\s*[-+\d.]+(?:[\s;]+[-+\d.]+\s*,\s*[-+\d.]+)*\s*")


def outline(drawing, depth_mm=0.0, painted_sides="all", inset_mm=0.0):
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
        Width of the bevel; the flat face is taken as area − bevel × perimeter, which is exact to the
        corners of a convex outline, [mm]

    Returns
    -------
    surface : Surface
        Area and perimeter exact for points; for curves the chords stay within 0.05 mm, [-]

    Raises
    ------
    SurfaceError
        If the drawing has fewer than three points, crosses itself, has no area, or cannot be read.

    Examples
    --------
    >>> outline("0,0 200,0 200,100 0,100").top_area_mm2
    20000.0
    """
    points = _points(drawing)
    if len(points) > 1 and points[0] == points[-1]:
        points = points[:-1]
    if len(points) < 3:
        raise SurfaceError("An outline needs at least three points.")
    if len(points) > MOST_POINTS:
        raise SurfaceError(f"An outline may have at most {MOST_POINTS} points.")
    if _crosses_itself(points):
        raise SurfaceError("The outline crosses itself. Draw it as one line around the shape.")
    pairs = list(zip(points, [*points[1:], points[0]], strict=True))
    area = abs(sum(x1 * y2 - x2 * y1 for (x1, y1), (x2, y2) in pairs)) / 2
    perimeter = sum(hypot(x2 - x1, y2 - y1) for (x1, y1), (x2, y2) in pairs)
    if area <= 1e-9 * perimeter**2:
        raise SurfaceError("The outline encloses no area.")
    flat = area - measured(inset_mm, "bevel", zero=True) * perimeter
    return surface("outline", area, perimeter, depth_mm, _share(painted_sides), flat)


def _points(drawing):
    if not isinstance(drawing, str):
        points = [(float(x), float(y)) for x, y in drawing]
    elif len(drawing) > LONGEST_TEXT:
        raise SurfaceError(f"The outline's text may have at most {LONGEST_TEXT} characters.")
    elif _POINTS.fullmatch(drawing):
        numbers = [float(text) for text in _NUMBERS.findall(drawing)]
        points = list(zip(numbers[::2], numbers[1::2], strict=True))
    else:
        points = _path(drawing)
    if not all(isfinite(x) and isfinite(y) for x, y in points):
        raise SurfaceError("Every point of an outline needs two ordinary numbers in millimetres.")
    return points


def _path(text):
    try:
        parts = list(parse_path(text))
    except Exception as error:  # the parser raises many kinds on text that is no path
        raise SurfaceError(
            "An outline is points such as “0,0 200,0 200,100”, or an SVG path such as "
            "“M 0 0 L 200 0 L 200 100 Z”."
        ) from error
    if sum(isinstance(part, Move) for part in parts) > 1:
        raise SurfaceError("An outline is one closed line: this path has several.")
    points = []
    for part in parts:
        if isinstance(part, Move):
            points.append(part.end)
        elif isinstance(part, (Line, Close)):
            points.append(part.end)
        else:
            points.extend(_flattened(part, 0.0, 1.0, part.point(0.0), part.point(1.0), depth=0))
    return [(point.real, point.imag) for point in points]


def _flattened(curve, start, end, first, last, depth):
    """Cut a curve in half until the quarter points of every piece lie on its chord."""
    middle = (start + end) / 2
    halfway = curve.point(middle)
    quarters = (curve.point((start + middle) / 2), halfway, curve.point((middle + end) / 2))
    if depth > 2 and all(_off_chord(point, first, last) <= FLATNESS_MM for point in quarters):
        return [last]
    if depth > 14:
        return [last]
    return _flattened(curve, start, middle, first, halfway, depth + 1) + _flattened(
        curve, middle, end, halfway, last, depth + 1
    )


def _off_chord(point, first, last):
    chord = last - first
    if not abs(chord):
        return abs(point - first)
    return abs((chord.conjugate() * (point - first)).imag) / abs(chord)


def _crosses_itself(points):
    """Tell whether any two edges that are not neighbours meet, sweeping from left to right."""
    count = len(points)
    edges = sorted(
        (min(a[0], b[0]), max(a[0], b[0]), place, a, b)
        for place, (a, b) in enumerate(zip(points, [*points[1:], points[0]], strict=True))
    )
    active: list[tuple] = []
    for left, right, place, a, b in edges:
        active = [one for one in active if one[0] >= left]
        for _, other, c, d in active:
            if (place - other) % count not in (1, count - 1) and _meet(a, b, c, d):
                return True
        active.append((right, place, a, b))
    return False


def _meet(a, b, c, d):
    def turn(p, q, r):
        return (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0])

    def within(p, q, r):
        return min(p[0], q[0]) <= r[0] <= max(p[0], q[0]) and min(p[1], q[1]) <= r[1] <= max(
            p[1], q[1]
        )

    t1, t2, t3, t4 = turn(a, b, c), turn(a, b, d), turn(c, d, a), turn(c, d, b)
    if ((t1 > 0) != (t2 > 0)) and ((t3 > 0) != (t4 > 0)) and 0 not in (t1, t2, t3, t4):
        return True
    return (
        (t1 == 0 and within(a, b, c))
        or (t2 == 0 and within(a, b, d))
        or (t3 == 0 and within(c, d, a))
        or (t4 == 0 and within(c, d, b))
    )
