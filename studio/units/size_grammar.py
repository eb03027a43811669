"""Reading the size of a piece as a maker writes it, such as ``8 × 8 × 1½ in``."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise
from typing import NoReturn

from studio.units.numerals import UnitsError, exact_decimal, plain_text, quoted, read_number, tokens
from studio.units.sizes import POLYGONS, ParsedSize
from studio.units.words import AMBIGUOUS, KINDS, LENGTH_WORDS

HINT = "a size such as 8 × 8 × 1½ in, 10 × 10 cm, 4 in round or 150 × 100 mm oval"

MOST_SIDES = 24
SHAPES = {
    **dict.fromkeys(("rectangle", "rectangular"), "rectangle"),
    "square": "square",
    **dict.fromkeys(("round", "circle", "circular", "disc", "disk", "diameter"), "circle"),
    **dict.fromkeys(("oval", "ellipse"), "oval"),
    **dict.fromkeys(("ring", "annulus"), "ring"),
    **dict.fromkeys(POLYGONS, "polygon"),
    "polygon": "polygon",
}
DEPTH_WORDS = {"deep", "depth", "thick"}
HOLE_WORDS = {"hole", "inside", "inner"}
# These say what the piece is or how it is measured, and nothing of its shape.
PIECE_WORDS = {"canvas", "panel", "board", "tile", "coaster"}
FILLER_WORDS = {*PIECE_WORDS, "outside", "across", "flats", "wide", "regular"}

# 5 m and 300 mm, and what rounding to a sixteenth of an inch may add when a size is written.
SMALLEST_FACE_MM, LARGEST_FACE_MM = Decimal(5), Decimal("5000.13")
SMALLEST_DEPTH_MM, LARGEST_DEPTH_MM = Decimal("0.5"), Decimal("300.13")


@dataclass
class _Dimension:
    """One dimension while it is read: numbers with their units, what joins it, what it is."""

    joined: bool
    readings: list[tuple[Fraction, str | None]] = field(default_factory=list)
    role: str = "face"

    def takes_number(self) -> bool:
        """Say whether one more number belongs here: the first, or inches after feet."""
        return not self.readings or self.readings[-1][1] in {"ft", "foot", "feet", "'"}


def parse_size(text: str, default_unit: str | None = None) -> ParsedSize:
    """Read the size of a piece.

    Parameters
    ----------
    text : str
        Two or three numbers with a unit, or one number with a unit and a shape. A unit counts
        for the numbers before it that have none. One number of a tile, canvas or the like, which
        names no shape, is a square's. A rectangle's third number is its depth; any shape's depth
        may be written as ``20 mm deep``, a ring's hole as ``20 cm hole`` or ``30/20 cm ring``. A
        polygon is measured across flats, [-]
    default_unit : str, optional
        The unit of a text that names none, such as ``"in"``, [-]

    Returns
    -------
    size : ParsedSize
        Shape, and dimensions in [mm]

    Raises
    ------
    UnitsError
        If the text is not a size, has no unit and there is no default, or lies outside 5 mm to
        5 m for a face and 0.5 mm to 300 mm for a depth.

    Examples
    --------
    >>> parse_size("8x8x1.5in").depth_mm
    Decimal('38.1')
    >>> parse_size("4 in round").shape
    'circle'
    >>> parse_size("8x8", "in") == parse_size("8 inch canvas")
    True

    References
    ----------
    International Yard and Pound agreement 1959: 1 in is 25.4 mm.
    """
    plain = plain_text(text, HINT)
    plain, sides = _take_sides(plain)
    plain = re.sub(r"x\s*(?=[\d.,])", " x ", plain)
    if re.search(r"ring|annulus", plain):
        plain = re.sub(r"^([a-z\s]*)([\d.,]+)\s*/\s*([\d.,]+)", _outer_and_hole, plain)
    parts = list(tokens(plain, HINT))
    words, dimensions = _read(parts)
    shape, sides = _one_shape(words, sides)
    if shape is None and len(dimensions) == 1 and PIECE_WORDS.intersection(parts):
        shape = "square"
    for earlier, later in pairwise(dimensions):
        if earlier.role == later.role == "face" and not later.joined:
            raise UnitsError(f"Put × between width and height; write {HINT}.")
    _give_units(dimensions, default_unit)
    roles = {
        role: [_millimetres(each) for each in dimensions if each.role == role]
        for role in ("face", "depth", "hole")
    }
    return _build(shape, sides, **roles)


def _outer_and_hole(match: re.Match[str]) -> str:
    """Read ``30/20`` as a ring and its hole, but leave a part of one such as ``1/2`` alone."""
    outer, hole = read_number(match[2]), read_number(match[3])
    return f"{match[1]}{match[2]} x {match[3]}" if outer > hole else match[0]


def _take_sides(plain: str) -> tuple[str, int | None]:
    """Take ``6-sided`` out of the text and return the rest and the number."""
    match = re.search(r"(?<![\d.,/])(\d{1,3})\s*+(?:-\s*+)?+sided?\b", plain)
    if match is None:
        return plain, None
    sides = int(match[1])
    if not 3 <= sides <= MOST_SIDES:
        raise UnitsError(f"A polygon has 3 to {MOST_SIDES} sides; write 4 in hexagon, say.")
    return f"{plain[: match.start()]} {plain[match.end() :]}", sides


def _read(tokens: Iterable[Fraction | str]) -> tuple[list[str], list[_Dimension]]:
    """Sort tokens into the shapes named and the dimensions given."""
    shapes: list[str] = []
    dimensions: list[_Dimension] = []
    current = _Dimension(joined=True)
    for token in tokens:
        if isinstance(token, Fraction):
            if not current.takes_number():
                dimensions.append(current)
                current = _Dimension(joined=False)
            current.readings.append((token, None))
        elif token in LENGTH_WORDS:
            if not current.readings or current.readings[-1][1]:
                raise UnitsError(f"{quoted(token)} has no number before it; write {HINT}.")
            current.readings[-1] = (current.readings[-1][0], token)
        elif token in ("x", "by"):
            if not current.readings:
                raise UnitsError(f"A number is missing beside the ×; write {HINT}.")
            dimensions.append(current)
            current = _Dimension(joined=True)
        elif token in DEPTH_WORDS | HOLE_WORDS:
            if not current.readings:
                raise UnitsError(f"Write the number before “{token}”, such as 20 mm {token}.")
            current.role = "depth" if token in DEPTH_WORDS else "hole"
        elif token in SHAPES:
            shapes.append(token)
        elif token not in FILLER_WORDS | {","}:
            _refuse_word(token)
    if current.readings:
        dimensions.append(current)
    elif dimensions and current.joined:
        raise UnitsError(f"A number is missing beside the ×; write {HINT}.")
    if not dimensions:
        raise UnitsError(f"There is no number in it; write {HINT}.")
    return shapes, dimensions


def _one_shape(words: Iterable[str], sides: int | None) -> tuple[str | None, int | None]:
    """Return the shape named and its sides, which are None where the text does not say."""
    named = {(SHAPES[word], POLYGONS.get(word)) for word in words}
    if sides:
        named.add(("polygon", sides))
    if len(named) > 1:
        named.discard(("polygon", None))
    if len(named) > 1:
        raise UnitsError(f"Name one shape only; write {HINT}.")
    return named.pop() if named else (None, None)


def _refuse_word(word: str) -> NoReturn:
    if word in AMBIGUOUS:
        raise UnitsError(AMBIGUOUS[word])
    kind = KINDS.get(word)
    if kind:
        raise UnitsError(f"{quoted(word)} is a {kind}; write {HINT}.")
    raise UnitsError(f"{quoted(word)} is not a unit or shape known here; write {HINT}.")


def _give_units(dimensions: Sequence[_Dimension], default_unit: str | None) -> None:
    """Give each number without a unit the one it was plainly meant to have.

    That is the only unit in the text, the next one when no unit came before, or the default.
    """
    units = [unit for each in dimensions for _, unit in each.readings if unit]
    if not units and default_unit:
        units = [default_unit]
    if not units:
        raise UnitsError(f"Say which unit it is in; write {HINT}.")
    one_unit = len({LENGTH_WORDS[unit] for unit in units}) == 1
    last_unit = None
    for each in dimensions:
        for place, (number, unit) in enumerate(each.readings):
            if unit is None and (last_unit is None or one_unit):
                each.readings[place] = (number, units[0])
            elif unit is None:
                raise UnitsError("Give every number its unit, such as 8 in × 10 in × 38 mm.")
            last_unit = unit or last_unit


def _millimetres(dimension: _Dimension) -> Decimal:
    total = sum(number * LENGTH_WORDS[unit] for number, unit in dimension.readings if unit)
    return exact_decimal(round(total * 1000) / Fraction(1000))


def _build(
    shape: str | None,
    sides: int | None,
    face: list[Decimal],
    depth: list[Decimal],
    hole: list[Decimal],
) -> ParsedSize:
    """Make a size of the numbers given, taking the one after the face for the depth."""
    faces = 2
    if shape in ("circle", "polygon"):
        faces = 1
        face = face[:1] if face[1:] == face[:1] else face
    elif (shape == "square" and len(face) == 1) or (shape == "ring" and hole):
        faces = 1
    if shape not in ("circle", "polygon") and not depth:
        face, depth = face[:faces], face[faces:]
    _check_number(shape, sides, face, faces, depth, hole)
    across = [_face(each) for each in [*face, *hole]]
    deep = _depth(depth[0]) if depth else Decimal(0)
    if shape == "ring":
        if across[1] >= across[0]:
            raise UnitsError("A ring's hole must be smaller than the ring; write 30/20 cm ring.")
        return ParsedSize("ring", across[0], across[0], deep, inner_mm=across[1])
    if shape == "square" and across[0] != across[-1]:
        raise UnitsError("A square's sides are equal; leave out “square” for a rectangle.")
    kind = "rectangle" if shape is None or shape == "square" else shape
    return ParsedSize(kind, across[0], across[-1], deep, sides=sides)


def _face(value: Decimal) -> Decimal:
    if not SMALLEST_FACE_MM <= value <= LARGEST_FACE_MM:
        raise UnitsError(f"A piece must be 5 mm to 5 m wide and high; write {HINT}.")
    return value


def _depth(value: Decimal) -> Decimal:
    if not SMALLEST_DEPTH_MM <= value <= LARGEST_DEPTH_MM:
        raise UnitsError(
            "A depth must be 0.5 mm to 300 mm, or left out for a flat piece, as in 8 × 8 × 1½ in."
        )
    return value


def _check_number(
    shape: str | None,
    sides: int | None,
    face: Sequence[Decimal],
    faces: int,
    depth: Sequence[Decimal],
    hole: Sequence[Decimal],
) -> None:
    """Refuse too few or too many numbers for the shape."""
    if shape == "polygon" and not sides:
        raise UnitsError("Say how many sides the polygon has, such as 4 in hexagon.")
    if len(depth) > 1 or len(hole) > 1 or (hole and shape != "ring"):
        raise UnitsError(f"There are more numbers than this shape has; write {HINT}.")
    if len(face) == faces:
        return
    if shape in ("circle", "polygon"):
        raise UnitsError(
            "This shape has one width; write 4 in round or 4 in hexagon, and a depth as 20 mm deep."
        )
    if shape == "ring":
        raise UnitsError("A ring needs its width and its hole's; write 30/20 cm ring.")
    if len(face) < faces:
        raise UnitsError(f"Give a width and a height, or a shape; write {HINT}.")
    raise UnitsError(f"There are more numbers than this shape has; write {HINT}.")
