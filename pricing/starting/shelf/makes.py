"""What a studio makes, and the sizes that are usual of it."""

from collections.abc import Mapping
from dataclasses import dataclass

from pricing.fitness import HOT, LOOK

# Between the kind of work and the size, where both stand in an address.
BETWEEN = "~"


@dataclass(frozen=True)
class Make:
    """One kind of work, and the sizes that it usually has.

    Parameters
    ----------
    key, label : str
        What it is known by in an address and on the page, [-]
    surface : str
        What it is poured on, [-]
    sizes : mapping of str to tuple of str
        Usual sizes as people write them, by the studio's measure of length, ``"in"`` or ``"cm"``;
        common practice, no source, [in or cm]
    product : str
        What one of it is called, before its size, [-]
    pieces_each : int
        How many pieces are sold together, [-]
    has_resin : bool
        Whether it usually gets a resin topcoat, [-]
    use : str
        What it is for, as `pricing.fitness` has it, [-]
    packed_in : str
        The slug of what it is usually packed in, [-]
    """

    key: str
    label: str
    surface: str
    sizes: Mapping[str, tuple[str, ...]]
    product: str
    pieces_each: int = 1
    use: str = LOOK
    has_resin: bool = False
    packed_in: str = ""


@dataclass(frozen=True)
class Piece:
    """One size of one kind of work.

    Parameters
    ----------
    make : Make
        The kind of work, [-]
    size : str
        Its size as a person writes it, with its unit, [-]
    """

    make: Make
    size: str

    @property
    def surface(self) -> str:
        """What it is poured on, with its size."""
        return f"{self.make.surface}, {self.size}"

    @property
    def product(self) -> str:
        """What one of it is called."""
        return f"{self.make.product}, {self.size}"

    @property
    def key(self) -> str:
        """How it stands in an address."""
        return f"{self.make.key}{BETWEEN}{self.size}"


# A 4¼ in tile is ¼ in thick as a rule; canvases are ¾ in deep, or 1½ in where they hang unframed.
MAKES = (
    Make(
        "coasters",
        "Coasters for hot cups, with a clear resin coat",
        "Tile",
        {
            "in": ("4¼ × 4¼ × ¼ in", "4 × 4 × ¼ in", "4 in round, ¼ in deep"),
            "cm": ("10 × 10 × 0.6 cm", "10 cm round, 6 mm deep"),
        },
        "Set of 4 coasters",
        pieces_each=4,
        use=HOT,
        has_resin=True,
        packed_in="coaster-box",
    ),
    Make(
        "canvases",
        "Paintings on canvas, to look at",
        "Canvas",
        {
            "in": (
                *("8 × 8 × ¾ in", "8 × 10 × ¾ in", "11 × 14 × ¾ in", "12 × 12 × ¾ in"),
                *("16 × 20 × ¾ in", "24 × 36 × 1½ in"),
            ),
            "cm": (
                *("20 × 20 × 2 cm", "24 × 30 × 2 cm", "30 × 30 × 2 cm", "30 × 40 × 2 cm"),
                *("40 × 50 × 2 cm", "60 × 90 × 4 cm"),
            ),
        },
        "Canvas",
        packed_in="picture-box",
    ),
    Make(
        "panels",
        "Paintings on wooden panels, to look at",
        "Wooden panel",
        {
            "in": ("6 × 6 × ¾ in", "8 × 8 × ¾ in", "12 × 12 × ¾ in"),
            "cm": ("15 × 15 × 2 cm", "20 × 20 × 2 cm", "30 × 30 × 2 cm"),
        },
        "Panel",
        packed_in="picture-box",
    ),
    Make(
        "tiles",
        "Tiles to look at, without resin",
        "Tile",
        {
            "in": ("4¼ × 4¼ × ¼ in", "6 × 6 × ¼ in"),
            "cm": ("10 × 10 × 0.6 cm", "15 × 15 × 0.8 cm", "20 × 20 × 0.8 cm"),
        },
        "Tile",
    ),
)


def read_piece(text: str) -> Piece | None:
    """Return the piece that a part of an address names, or None where that names none.

    Parameters
    ----------
    text : str
        As `Piece.key` writes it, [-]

    Returns
    -------
    piece : Piece or None
        What it names; its size is not read here, [-]

    Examples
    --------
    >>> read_piece("canvases~8 × 8 × ¾ in").surface
    'Canvas, 8 × 8 × ¾ in'
    >>> read_piece("boats~3 m") is None
    True
    """
    key, between, size = text.partition(BETWEEN)
    make = next((one for one in MAKES if one.key == key), None)
    return Piece(make, size.strip()) if make and between and size.strip() else None
