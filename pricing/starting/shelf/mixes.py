"""What is mixed of it: recipes by volume, and palettes of them."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Mix:
    """One recipe by volume.

    Parameters
    ----------
    name, role : str
        As a recipe has them, [-]
    parts : tuple of (str, int)
        Slugs of supplies and their parts by volume, [-]
    said : str
        Where the ratio is from and what to watch, in a sentence or two, [-]
    """

    name: str
    role: str
    parts: tuple[tuple[str, int], ...]
    said: str


@dataclass(frozen=True)
class Colours:
    """One palette: colour mixes with their parts over a base.

    Parameters
    ----------
    name : str
        What it is called, [-]
    parts : tuple of (str, int)
        Names of mixes and their shares, [-]
    """

    name: str
    parts: tuple[tuple[str, int], ...]


# Of the published ratios of paint to pouring medium, from 4 : 1 to 1 : 20, five general ones that
# do not copy each other are 1 : 1. A base coat is wall paint, thicker than the colours on it. A
# cell activator without silicone is 1 of artists' acrylic to 3 of flow conditioner.
HALF = (
    "Paint and pouring medium 1 : 1 by volume, common practice, no source. Add water by the drop "
    "until it runs like warm honey, and stay below 30 % of water."
)


def _half(name: str, slug: str) -> Mix:
    return Mix(f"{name} mix", "colour", ((slug, 1), ("pouring-medium", 1)), HALF)


MIXES = (
    Mix(
        "White base coat",
        "base",
        (("wall-paint", 1),),
        "Wall paint as it is, thicker than the colours on it, common practice, no source. Strain "
        "it; a little water if it does not level.",
    ),
    _half("Titanium white", "titanium-white"),
    _half("Carbon black", "carbon-black"),
    _half("Phthalo blue", "phthalo-blue"),
    _half("Phthalo green", "phthalo-green"),
    _half("Magenta", "magenta"),
    _half("Ochre", "ochre"),
    _half("Ultramarine", "ultramarine"),
    _half("Umber", "umber"),
    Mix(
        "White cell activator",
        "activator",
        (("conditioner", 3), ("titanium-white", 1)),
        "Artists' acrylic and paint conditioner 1 : 3 by volume, common practice, no source. "
        "Strain it; thinner than the colours.",
    ),
)
BASES = ("White base coat", "Titanium white mix")
ACTIVATOR = "White cell activator"
# Shares of colours in a palette are a matter of taste, and so are these.
PALETTES = (
    Colours(
        "Blue and green",
        (("Phthalo blue mix", 2), ("Phthalo green mix", 1), ("Titanium white mix", 1)),
    ),
    Colours(
        "Magenta and blue",
        (("Magenta mix", 2), ("Phthalo blue mix", 1), ("Titanium white mix", 1)),
    ),
    Colours("Ochre and umber", (("Ochre mix", 2), ("Umber mix", 1), ("Titanium white mix", 1))),
    Colours("Black and white", (("Carbon black mix", 1), ("Titanium white mix", 1))),
)
ALL_COLOURS = "All my colours"
