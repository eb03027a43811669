"""The usual cautions with two-part epoxy, for every place where it is used.

They repeat what occupational-health bodies publish (for example the UK Health and Safety Executive
and EU-OSHA on epoxy and the skin) and stand in for no maker's data sheet and no local rule.
"""

from dataclasses import dataclass


@dataclass(frozen=True)
class Caution:
    """One caution: a code, a title of a word or two, and what to do."""

    code: str
    title: str
    text: str


CAUTIONS = (
    Caution(
        "data-sheet",
        "Data sheet first",
        "Read the maker's safety data sheet for both parts before opening them. It and your local "
        "rules come before anything said here.",
    ),
    Caution(
        "gloves",
        "Gloves",
        "Resin and hardener can cause a lasting skin allergy, even at a single exposure. Wear the "
        "gloves the data sheet names, usually nitrile, and change them often; latex does not "
        "protect. Wash splashes off with soap and water at once, never with solvent.",
    ),
    Caution(
        "ventilation",
        "Air",
        "Work in a well-aired room, with the respirator the data sheet names. A dust mask does not "
        "stop vapour.",
    ),
    Caution(
        "exotherm",
        "Heat in the cup",
        "Mixed resin heats itself, the more so the larger the cup: it can smoke, melt the cup and "
        "burn. Mix small cups, pour at once, and if one grows hot, put it outdoors on something "
        "that cannot burn and keep away from the fumes. No glass, no foam.",
    ),
    Caution(
        "dust",
        "Sanding dust",
        "Do not sand before full cure: dust of half-cured resin is the surest way to an allergy. "
        "Sand wet or with extraction, masked and covered.",
    ),
    Caution(
        "food",
        "Food",
        "A cured topcoat is no approved food surface. Do not serve on it or drink from it unless "
        "the maker states, for this very resin with these pigments, that it may touch food.",
    ),
    Caution(
        "hot-cups",
        "Hot cups",
        "Cured resin softens with heat and a hot cup can mark it. Pass on the heat limit the maker "
        "states, and never call a piece heatproof.",
    ),
    Caution(
        "disposal",
        "Left-overs",
        "Liquid resin and hardener are hazardous waste: never into a drain. Mix what is left in "
        "small amounts, let it cure, and dispose of it as local rules say.",
    ),
)
