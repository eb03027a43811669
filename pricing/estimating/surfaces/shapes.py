"""Closed-form shapes: area, perimeter and painted sides."""

from collections.abc import Collection
from math import cos, pi, tan

from scipy.special import ellipe

from pricing.estimating.surfaces.surface import (
    Surface,
    SurfaceError,
    measured,
    number,
    share_of_sides,
    surface,
)

SIDES = ("top", "right", "bottom", "left")
MOST_SIDES = 60


def rectangle(
    width_mm: float,
    height_mm: float,
    depth_mm: float = 0.0,
    painted_sides: str | float | Collection[str] = "all",
    inset_mm: float = 0.0,
) -> Surface:
    """Return a rectangle or square.

    Parameters
    ----------
    width_mm, height_mm : float
        Sides of the face, above zero, [mm]
    depth_mm : float
        Depth of the sides, [mm]
    painted_sides : str, float or sequence of str
        ``"all"``, ``"none"``, a share, or some of ``top``, ``right``, ``bottom``, ``left``, [-]
    inset_mm : float
        Width of the bevel along every edge, [mm]

    Returns
    -------
    surface : Surface
        The surface, [-]

    Raises
    ------
    SurfaceError
        If a length or a side's name cannot be.

    Examples
    --------
    An 8 x 8 in canvas, 1.5 in deep: 64 in2 of face and 48 in2 of sides.

    >>> canvas = rectangle(203.2, 203.2, 38.1)
    >>> round(canvas.side_area_mm2 / 25.4**2, 6)
    48.0
    """
    width, height = measured(width_mm, "width"), measured(height_mm, "height")
    inset = measured(inset_mm, "bevel", zero=True)
    perimeter = 2 * (width + height)
    if isinstance(painted_sides, str) and painted_sides not in ("all", "none"):
        painted_sides = [name.strip() for name in painted_sides.split(",")]
    if isinstance(painted_sides, (list, tuple, set, frozenset)):
        if not set(painted_sides) <= set(SIDES):
            raise SurfaceError(
                "The sides of a rectangle are painted “all”, “none”, or some of "
                f"{', '.join(SIDES)}."
            )
        lengths = dict(zip(SIDES, (width, height, width, height), strict=True))
        share = sum(lengths[name] for name in set(painted_sides)) / perimeter
    else:
        share = share_of_sides(painted_sides)
    flat = max(width - 2 * inset, 0) * max(height - 2 * inset, 0)
    return surface("rectangle", width * height, perimeter, depth_mm, share, flat)


def circle(
    diameter_mm: float,
    depth_mm: float = 0.0,
    painted_sides: str | float = "all",
    inset_mm: float = 0.0,
) -> Surface:
    """Return a round.

    Parameters
    ----------
    diameter_mm, depth_mm, inset_mm : float
        Diameter above zero; depth of the side; bevel, [mm]
    painted_sides : str or float
        ``"all"``, ``"none"`` or a share, [-]

    Returns
    -------
    surface : Surface
        The surface, [-]

    Raises
    ------
    SurfaceError
        If a length cannot be.
    """
    radius = measured(diameter_mm, "diameter") / 2
    flat = pi * max(radius - measured(inset_mm, "bevel", zero=True), 0) ** 2
    area, perimeter = pi * radius**2, 2 * pi * radius
    return surface("circle", area, perimeter, depth_mm, share_of_sides(painted_sides), flat)


def oval(
    width_mm: float,
    height_mm: float,
    depth_mm: float = 0.0,
    painted_sides: str | float = "all",
    inset_mm: float = 0.0,
) -> Surface:
    """Return an oval; its perimeter is the complete elliptic integral of the second kind.

    Parameters
    ----------
    width_mm, height_mm : float
        Full axes, above zero, [mm]
    depth_mm, inset_mm : float
        Depth of the side; bevel, by which both axes shrink on either end, [mm]
    painted_sides : str or float
        ``"all"``, ``"none"`` or a share, [-]

    Returns
    -------
    surface : Surface
        The surface, [-]

    Raises
    ------
    SurfaceError
        If a length cannot be.

    Notes
    -----
    The perimeter is exact to rounding. The flat face inside a bevel is taken to be an oval again.

    References
    ----------
    NIST Digital Library of Mathematical Functions, 19.9.9: perimeter = 4 a E(k).
    """
    width, height = measured(width_mm, "width"), measured(height_mm, "height")
    inset = measured(inset_mm, "bevel", zero=True)
    long, short = max(width, height) / 2, min(width, height) / 2
    perimeter = 4 * long * float(ellipe(1 - (short / long) ** 2))
    flat = pi * max(long - inset, 0) * max(short - inset, 0)
    return surface(
        "oval", pi * long * short, perimeter, depth_mm, share_of_sides(painted_sides), flat
    )


def regular_polygon(
    flats_mm: float,
    sides: int,
    depth_mm: float = 0.0,
    painted_sides: str | float = "all",
    inset_mm: float = 0.0,
) -> Surface:
    """Return a regular polygon by its size across flats.

    Parameters
    ----------
    flats_mm : float
        From a side to the opposite side, or to the opposite corner when the sides are odd, [mm]
    sides : int
        How many, from 3 to 60, [-]
    depth_mm, inset_mm : float
        Depth of the sides; bevel, [mm]
    painted_sides : str or float
        ``"all"``, ``"none"`` or a share, [-]

    Returns
    -------
    surface : Surface
        The surface, [-]

    Raises
    ------
    SurfaceError
        If a length or the number of sides cannot be.

    Examples
    --------
    A hexagon of side 50 mm is 86.602540 mm across flats and has 6495.190528 mm2.

    >>> round(regular_polygon(86.60254037844386, 6).top_area_mm2, 6)
    6495.190528
    """
    flats = measured(flats_mm, "size across flats")
    sides = _how_many(sides)
    angle = pi / sides
    apothem = flats / 2 if sides % 2 == 0 else flats / (1 + 1 / cos(angle))
    inset = measured(inset_mm, "bevel", zero=True)
    flat = sides * max(apothem - inset, 0) ** 2 * tan(angle)
    area, perimeter = sides * apothem**2 * tan(angle), 2 * sides * apothem * tan(angle)
    return surface("polygon", area, perimeter, depth_mm, share_of_sides(painted_sides), flat)


def _how_many(sides: float) -> int:
    count = number(sides)
    if not (3 <= count <= MOST_SIDES and count == int(count)):
        raise SurfaceError(f"A regular polygon has 3 to {MOST_SIDES} sides.")
    return int(count)


def ring(
    outer_mm: float,
    inner_mm: float,
    depth_mm: float = 0.0,
    painted_sides: str | float = "all",
    inset_mm: float = 0.0,
) -> Surface:
    """Return a ring: a round with a round hole, both edges with sides.

    Parameters
    ----------
    outer_mm, inner_mm : float
        Diameters, the inner one smaller, [mm]
    depth_mm, inset_mm : float
        Depth of both sides; bevel on both edges, [mm]
    painted_sides : str or float
        ``"all"``, ``"none"`` or a share of both edges, [-]

    Returns
    -------
    surface : Surface
        The surface, [-]

    Raises
    ------
    SurfaceError
        If a length cannot be or the hole is not smaller than the ring.
    """
    outer, inner = measured(outer_mm, "outer diameter"), measured(inner_mm, "hole")
    if inner >= outer:
        raise SurfaceError("The hole of a ring must be smaller than the ring.")
    inset = measured(inset_mm, "bevel", zero=True)
    area = pi / 4 * (outer**2 - inner**2)
    flat_outer, flat_inner = outer - 2 * inset, inner + 2 * inset
    flat = pi / 4 * (flat_outer**2 - flat_inner**2) if flat_outer > flat_inner else 0.0
    perimeter = pi * (outer + inner)
    return surface("ring", area, perimeter, depth_mm, share_of_sides(painted_sides), flat)
