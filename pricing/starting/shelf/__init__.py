"""What a studio may start from: kinds of work with their sizes, things to have, and what to mix.

Nothing here has a price, and every ratio and size is common practice, no source, for a studio to
change.
"""

from pricing.starting.shelf.makes import MAKES, Make, Piece, read_piece
from pricing.starting.shelf.mixes import MIXES, PALETTES, Colours, Mix
from pricing.starting.shelf.supplies import SUPPLIES, Supply, supplies_for, surfaces_of

__all__ = [
    "MAKES",
    "MIXES",
    "PALETTES",
    "SUPPLIES",
    "Colours",
    "Make",
    "Mix",
    "Piece",
    "Supply",
    "read_piece",
    "supplies_for",
    "surfaces_of",
]
