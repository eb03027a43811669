"""Closed-form shapes: area, perimeter and painted sides."""

from dataclasses import dataclass
from math import cos, isfinite, pi, sin, sqrt, tan

from scipy.special import ellipe

SIDES = ("top", "right", "bottom", "left")


class SurfaceError(ValueError):
    """A surface that cannot exist; its text says what is accepted."""


@dataclass(frozen=True)
class Surface:
    """A face and its sides, as far as paint is concerned.

    Parameters
    ----------
    shape : str
        ``rectangle``, ``circle``, ``oval``, ``polygon``, ``ring`` or ``outline``, [-]
    top_area_mm2 : float
        Area of the face out to its edge, [mm2]
    perimeter_mm : float
        Length of all edges, the inner one of a ring too, [mm]
    painted_mm : float
        Length of the edges whose sides are painted, [mm]
    depth_mm : float
        Depth of the sides, [mm]
    flat_area_mm2 : float
        The part of the face that is flat, inside any bevel: what holds a flood coat, [mm2]
    """

    shape: str
    top_area_mm2: float
    perimeter_mm: float
    painted_mm: float
    depth_mm: float
    flat_area_mm2: float

    @property
    def side_area_mm2(self):
        """Area of the painted sides, [mm2]."""
        return self.painted_mm * self.depth_mm

    @property
    def wetted_area_mm2(self):
        """Face and painted sides: what paint has to wet, [mm2]."""
        return self.top_area_mm2 + self.side_area_mm2

    @property
    def radius_mm(self):
        """Radius of the disc with the same wetted area: one number for how large it is, [mm]."""
        return sqrt(self.wetted_area_mm2 / pi)


def measured(value, name, *, zero=False):
    """Return a length as a float, or refuse it.

    Parameters
    ----------
    value : float
        The length, [mm]
    name : str
        What it is called in the refusal, [-]
    zero : bool
        Whether nothing is accepted, [-]

    Returns
    -------
    length_mm : float
        The same, [mm]

    Raises
    ------
    SurfaceError
        If it is not a finite length above zero (or zero where that is accepted).
    """
    length = float(value)
    if not isfinite(length) or length < 0 or (length == 0 and not zero):
        least = "zero or more" if zero else "above zero"
        raise SurfaceError(f"The {name} must be a length {least} in millimetres.")
    return length


def surface(shape, area, perimeter, depth_mm, painted_share, flat_area):
    """Put a surface together once its area and perimeter are known.

    Parameters
    ----------
    shape : str
        Its name, [-]
    area, perimeter : float
        Of the face, [mm2] and [mm]
    depth_mm : float
        Depth of the sides, zero or more, [mm]
    painted_share : float
        Share of the perimeter whose sides are painted, from 0 to 1, [-]
    flat_area : float
        Flat part of the face, [mm2]

    Returns
    -------
    surface : Surface
        The surface, [-]

    Raises
    ------
    SurfaceError
        If the depth or share cannot be, or the bevel leaves no flat face.
    """
    depth = measured(depth_mm, "depth", zero=True)
    if not 0 <= painted_share <= 1:
        raise SurfaceError("The share of the sides that is painted lies between 0 and 1.")
    if flat_area <= 0:
        raise SurfaceError("The bevel leaves no flat face. It must be less than half the width.")
    return Surface(shape, area, perimeter, perimeter * painted_share, depth, flat_area)


def _share(painted_sides):
    if isinstance(painted_sides, (int, float)) and not isinstance(painted_sides, bool):
        return float(painted_sides)
    if painted_sides in ("all", "none"):
        return 1.0 if painted_sides == "all" else 0.0
    raise SurfaceError("Sides are painted “all”, “none”, or as a share between 0 and 1.")


def rectangle(width_mm, height_mm, depth_mm=0.0, painted_sides="all", inset_mm=0.0):
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
        if unknown := set(painted_sides) - set(SIDES):
            raise SurfaceError(
                f"A rectangle has sides {', '.join(SIDES)}, not {', '.join(sorted(unknown))}."
            )
        lengths = dict(zip(SIDES, (width, height, width, height), strict=True))
        share = sum(lengths[name] for name in set(painted_sides)) / perimeter
    else:
        share = _share(painted_sides)
    flat = max(width - 2 * inset, 0) * max(height - 2 * inset, 0)
    return surface("rectangle", width * height, perimeter, depth_mm, share, flat)


def circle(diameter_mm, depth_mm=0.0, painted_sides="all", inset_mm=0.0):
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
    return surface("circle", area, perimeter, depth_mm, _share(painted_sides), flat)


def oval(width_mm, height_mm, depth_mm=0.0, painted_sides="all", inset_mm=0.0):
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

    References
    ----------
    NIST Digital Library of Mathematical Functions, 19.9.9: perimeter = 4 a E(k).
    """
    width, height = measured(width_mm, "width"), measured(height_mm, "height")
    inset = measured(inset_mm, "bevel", zero=True)
    long, short = max(width, height) / 2, min(width, height) / 2
    perimeter = 4 * long * float(ellipe(1 - (short / long) ** 2))
    flat = pi * max(long - inset, 0) * max(short - inset, 0)
    return surface("oval", pi * long * short, perimeter, depth_mm, _share(painted_sides), flat)


def regular_polygon(flats_mm, sides, depth_mm=0.0, painted_sides="all", inset_mm=0.0):
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
    if sides != int(sides) or not 3 <= sides <= 60:
        raise SurfaceError("A regular polygon has 3 to 60 sides.")
    sides = int(sides)
    angle = pi / sides
    apothem = flats / 2 if sides % 2 == 0 else flats / (1 + 1 / cos(angle))
    inset = measured(inset_mm, "bevel", zero=True)
    flat = sides * max(apothem - inset, 0) ** 2 * tan(angle)
    area, perimeter = sides * apothem**2 * tan(angle), 2 * sides * apothem * tan(angle)
    return surface("polygon", area, perimeter, depth_mm, _share(painted_sides), flat)


def across_flats(corners_mm, sides):
    """Turn the size across corners of a regular polygon into its size across flats.

    Parameters
    ----------
    corners_mm : float
        Between the two corners farthest apart, above zero, [mm]
    sides : int
        How many, from 3, [-]

    Returns
    -------
    flats_mm : float
        Size across flats as `regular_polygon` takes it, [mm]

    Raises
    ------
    SurfaceError
        If the size cannot be.
    """
    corners = measured(corners_mm, "size across corners")
    angle = pi / sides
    radius = corners / 2 if sides % 2 == 0 else corners / (2 * sin(angle * (sides // 2)))
    apothem = radius * cos(angle)
    return 2 * apothem if sides % 2 == 0 else apothem + radius


def ring(outer_mm, inner_mm, depth_mm=0.0, painted_sides="all", inset_mm=0.0):
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
    return surface("ring", area, perimeter, depth_mm, _share(painted_sides), flat)
