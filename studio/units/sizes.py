"""The size of a piece, and its text such as ``8 × 8 × 1½ in`` or ``4 in round``."""

from dataclasses import dataclass
from decimal import Decimal

from studio.units.formats import length_number
from studio.units.numerals import as_decimal

POLYGONS = {
    "triangle": 3,
    "pentagon": 5,
    "hexagon": 6,
    "heptagon": 7,
    "octagon": 8,
    "nonagon": 9,
    "decagon": 10,
    "dodecagon": 12,
}


@dataclass(frozen=True)
class ParsedSize:
    """A shape and its dimensions, [mm], to 0.001 mm.

    `width_mm` and `height_mm` are a rectangle's sides, an oval's full axes, and twice the same
    for the rest: a circle's diameter, a ring's outer diameter, and a regular polygon's distance
    across flats, from a side to the opposite side (with an odd number of sides: to the opposite
    corner). `depth_mm` is 0 when not given; `sides` is for a polygon, `inner_mm`, the hole's
    diameter, for a ring.
    """

    shape: str
    width_mm: Decimal
    height_mm: Decimal
    depth_mm: Decimal = Decimal(0)
    sides: int | None = None
    inner_mm: Decimal | None = None


def format_size(size: ParsedSize | tuple[Decimal, ...], system: str) -> str:
    """Write a size so that `parse_size` reads it back.

    Parameters
    ----------
    size : ParsedSize or tuple
        A size, or a rectangle's width, height and optionally depth, [mm]
    system : str
        ``"in"``, ``"cm"`` or ``"mm"``, [-]

    Returns
    -------
    text : str
        The size; each dimension within 0.13 mm, or exact where the unit's sixteenths or
        hundredths reach it, [-]

    Raises
    ------
    UnitsError
        If a dimension is not a finite number, or the system is another.

    Examples
    --------
    >>> format_size((Decimal("203.2"), Decimal("203.2"), Decimal("38.1")), "in")
    '8 × 8 × 1½ in'
    >>> format_size(ParsedSize("circle", Decimal(100), Decimal(100)), "cm")
    '10 cm round'
    """
    if isinstance(size, tuple):
        width, height, depth = (as_decimal(each, "A dimension") for each in (*size, Decimal(0))[:3])
        size = ParsedSize("rectangle", width, height, depth)
    numbers = [length_number(size.width_mm, system)]
    if size.shape in ("rectangle", "oval"):
        numbers.append(length_number(size.height_mm, system))
    deep = length_number(size.depth_mm, system) if size.depth_mm else None
    if size.shape == "rectangle":
        return f"{' × '.join([*numbers, deep] if deep else numbers)} {system}"
    text = f"{' × '.join(numbers)} {system} {_shape_words(size)}"
    if size.inner_mm is not None:
        text += f", {length_number(size.inner_mm, system)} {system} hole"
    return f"{text}, {deep} {system} deep" if deep else text


def _shape_words(size: ParsedSize) -> str:
    if size.shape == "polygon":
        names = {sides: name for name, sides in POLYGONS.items()}
        return names.get(size.sides or 0, f"{size.sides}-sided polygon")
    return {"circle": "round"}.get(size.shape, size.shape)
