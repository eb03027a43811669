"""Things that a studio may have: paints by their pigment, mediums, resin, what to pour on."""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal

from pricing.starting.shelf.makes import Piece

ONE_EACH = {"us": (Decimal(1), "one"), "metric": (Decimal(1), "one")}
# Sizes that things are sold in; a US quart is 946 mL, 4 US fl oz are 118 mL.
TIN = {"us": (Decimal(946), "a quart tin"), "metric": (Decimal(1000), "a 1 L tin")}
LARGE = {"us": (Decimal(946), "a 32 fl oz bottle"), "metric": (Decimal(1000), "a 1 L bottle")}
SMALL = {"us": (Decimal(118), "a 4 fl oz bottle"), "metric": (Decimal(120), "a 120 mL bottle")}
PART = {"us": (Decimal(473), "a 16 fl oz bottle"), "metric": (Decimal(500), "a 500 mL bottle")}


@dataclass(frozen=True)
class Supply:
    """One thing to have on the shelf.

    Parameters
    ----------
    slug, name : str
        What it is known by here and in the studio, [-]
    kind, unit, medium : str
        As a material has them, [-]
    what_for : str
        What it is needed for, in a few words, [-]
    pack : mapping of str to (Decimal, str)
        What one of it holds and is called, by ``"us"`` or ``"metric"``; common practice, no source,
        [mL or items]
    pigments, swatch : str
        Colour Index names, and a colour to show beside the name, [-]
    is_usual : bool
        Whether most who make such things have it, [-]
    is_stocked : bool
        Whether it is counted, [-]
    """

    slug: str
    name: str
    kind: str
    what_for: str
    pack: Mapping[str, tuple[Decimal, str]]
    unit: str = "ml"
    medium: str = ""
    pigments: str = ""
    swatch: str = ""
    is_usual: bool = True
    is_stocked: bool = True

    def one(self, measures: str) -> tuple[Decimal, str]:
        """Return what one of it holds, and what that is called.

        Parameters
        ----------
        measures : str
            The studio's measures, [-]

        Returns
        -------
        one : tuple of (Decimal, str)
            Content and name, [mL or items]
        """
        return self.pack["us" if measures == "us" else "metric"]


def _colour(slug: str, name: str, pigments: str, swatch: str, usual: bool = False) -> Supply:
    return Supply(
        slug, name, "paint", "a colour", SMALL, pigments=pigments, swatch=swatch, is_usual=usual
    )


WATER = Supply("water", "Tap water", "water", "thinning", ONE_EACH, swatch="", is_stocked=False)
SUPPLIES = (
    Supply(
        "wall-paint",
        "Matt white wall paint",
        "paint",
        "the base coat under the colours",
        TIN,
        pigments="PW6",
        swatch="#f4f2ec",
    ),
    Supply(
        "pouring-medium",
        "Pouring medium",
        "medium",
        "half of every colour",
        LARGE,
        medium="pouring",
    ),
    Supply("conditioner", "Paint conditioner", "conditioner", "the cell activator", LARGE),
    _colour("titanium-white", "Titanium white", "PW6", "#fbfaf6", True),
    _colour("carbon-black", "Carbon black", "PBk7", "#1c1b1a", True),
    _colour("phthalo-blue", "Phthalo blue", "PB15:3", "#0f3d7a", True),
    _colour("phthalo-green", "Phthalo green", "PG7", "#0d6b5c", True),
    _colour("magenta", "Quinacridone magenta", "PR122", "#a3185c", True),
    _colour("ochre", "Yellow ochre", "PY43", "#c28a2c"),
    _colour("ultramarine", "Ultramarine blue", "PB29", "#27318c"),
    _colour("umber", "Burnt umber", "PBr7", "#5a3a26"),
    Supply("resin-a", "Coating resin, part A", "resin", "the clear coat", PART),
    Supply("resin-b", "Coating resin, part B (hardener)", "hardener", "the clear coat", PART),
    Supply("coaster-box", "Box for four coasters", "packaging", "packing", ONE_EACH, "each"),
    Supply("picture-box", "Box for one picture", "packaging", "packing", ONE_EACH, "each"),
)
RESIN = ("resin-a", "resin-b")
BOXES = ("coaster-box", "picture-box")


def surfaces_of(pieces: Iterable[Piece]) -> tuple[Supply, ...]:
    """Return what so many sizes are poured on, each once.

    Parameters
    ----------
    pieces : iterable of Piece
        What is made, [-]

    Returns
    -------
    surfaces : tuple of Supply
        In the same order; their slugs are their names, [-]
    """
    names = dict.fromkeys(one.surface for one in pieces)
    return tuple(Supply(name, name, "surface", "pouring on", ONE_EACH, "each") for name in names)


def supplies_for(pieces: Collection[Piece]) -> tuple[Supply, ...]:
    """Return what to have for what is made: surfaces first, without what it never takes.

    Parameters
    ----------
    pieces : collection of Piece
        What is made, [-]

    Returns
    -------
    supplies : tuple of Supply
        Resin only where something is coated, and boxes only of what is packed in them, [-]
    """
    boxes = {one.make.packed_in for one in pieces}
    left_out = {box for box in BOXES if box not in boxes}
    if not any(one.make.has_resin for one in pieces):
        left_out |= {*RESIN}
    return (*surfaces_of(pieces), *(one for one in SUPPLIES if one.slug not in left_out))
