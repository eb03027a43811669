"""What paint is concerned with: a face, its edges and their sides."""

from collections.abc import Collection
from dataclasses import dataclass
from math import isfinite, pi, sqrt
from typing import SupportsFloat

# Longer than any piece; what is beyond it is a slip of the unit.
LONGEST_MM = 10_000.0


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
    def side_area_mm2(self) -> float:
        """Area of the painted sides, [mm2]."""
        return self.painted_mm * self.depth_mm

    @property
    def wetted_area_mm2(self) -> float:
        """Face and painted sides: what paint has to wet, [mm2]."""
        return self.top_area_mm2 + self.side_area_mm2

    @property
    def radius_mm(self) -> float:
        """Radius of the disc with the same wetted area: one number for how large it is, [mm]."""
        return sqrt(self.wetted_area_mm2 / pi)


def measured(value: SupportsFloat | str, name: str, *, zero: bool = False) -> float:
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
        If it is not a finite length above zero (or zero where that is accepted), up to 10 m.
    """
    length = number(value)
    if not isfinite(length) or length < 0 or (length == 0 and not zero):
        least = "zero or more" if zero else "above zero"
        raise SurfaceError(f"The {name} must be a length {least} in millimetres.")
    if length > LONGEST_MM:
        raise SurfaceError(f"The {name} may be 10 m at most. Lengths are in millimetres.")
    return length


def number(value: SupportsFloat | str) -> float:
    """Return a number as a float, and what is no number as NaN.

    Parameters
    ----------
    value : object
        What was given, [-]

    Returns
    -------
    number : float
        The number or NaN, [-]
    """
    try:
        return float(value)
    except (TypeError, ValueError, OverflowError):
        return float("nan")


def share_of_sides(painted_sides: str | float | Collection[str]) -> float:
    """Return the painted share of a perimeter whose sides have no names.

    Parameters
    ----------
    painted_sides : str or float
        ``"all"``, ``"none"`` or a share, [-]

    Returns
    -------
    share : float
        The share as given, [-]

    Raises
    ------
    SurfaceError
        If it is anything else.
    """
    if isinstance(painted_sides, (int, float)) and not isinstance(painted_sides, bool):
        return float(painted_sides)
    if isinstance(painted_sides, str) and painted_sides in ("all", "none"):
        return 1.0 if painted_sides == "all" else 0.0
    raise SurfaceError("Sides are painted “all”, “none”, or as a share between 0 and 1.")


def surface(
    shape: str,
    area: float,
    perimeter: float,
    depth_mm: float,
    painted_share: float,
    flat_area: float,
) -> Surface:
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
