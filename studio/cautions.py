"""What can hurt in the studio, by act: a few short sentences each, one wording wherever shown.

They repeat the usual advice and stand in for no maker's data sheet and no local rule. Sources: the
UK Health and Safety Executive, EU-OSHA and California's hazard evaluation service on epoxy and the
skin; US 29 CFR 1926.1153 on silica dust; the label of isopropyl alcohol (H225, highly flammable)
under EU Regulation 1272/2008; ASTM D-4236 and EN 71 on paints for children, the four last from
memory; on acrylic waste, common practice, no source.
"""

from dataclasses import dataclass

FIRST = (
    "The maker's safety data sheet and your local rules come first. Leave licensed work to those "
    "who hold the licence."
)


@dataclass(frozen=True)
class Caution:
    """What to mind in one act: its code, a heading, and sentences that say what to do."""

    act: str
    title: str
    sentences: tuple[str, ...]


CAUTIONS = {
    one.act: one
    for one in (
        Caution(
            "resin",
            "Before you mix resin",
            (
                "Work in moving fresh air, with the gloves that the data sheet names (usually "
                "nitrile, changed often, never latex), eye protection and covered arms. Uncured "
                "resin and hardener can cause a lasting skin allergy, even at a single touch: wash "
                "splashes off with soap and water, never with solvent.",
                "Measure as the label says, by volume or by weight, never by both, and keep to the "
                "largest batch it allows: a deep cup heats up, smokes and burns. No glass, no "
                "foam. Put a hot cup outside on something that cannot burn, and stay away.",
                "A dust mask does not stop vapour: wear the respirator that the data sheet names.",
            ),
        ),
        Caution(
            "solvent",
            "Alcohol and solvents",
            (
                "They catch fire easily, and so do their vapours: no flame, torch, heat gun or "
                "spark nearby, windows open, the bottle closed. Rags go into a lidded metal tin.",
            ),
        ),
        Caution(
            "flame",
            "Torches and heat guns",
            (
                "Never near alcohol, aerosol or paper. Keep the flame moving, have an extinguisher "
                "or a fire blanket within reach, and let nobody lean over the piece.",
            ),
        ),
        Caution(
            "tile",
            "Before you scuff a tile",
            (
                "Dust of ceramic holds silica, which scars the lungs. Scuff wet, wear a respirator "
                "rated for fine dust (P100, FFP3), and wipe up rather than sweep.",
            ),
        ),
        Caution(
            "sanding",
            "Before you sand resin",
            (
                "Only after the full cure: dust of half-cured resin is the surest way to an "
                "allergy. Sand wet or with extraction, with a respirator rated for fine dust and "
                "covered skin, and wipe up rather than sweep.",
            ),
        ),
        Caution(
            "food",
            "Food and hot cups",
            (
                "Poured acrylic and cured resin are no approved food surface. Nobody serves on "
                "them or drinks from them unless the maker states it for this very resin with "
                "these pigments.",
                "Cured resin softens with heat, and a hot cup can mark it. Pass on the heat limit "
                "that the maker states, and never call a piece heatproof.",
            ),
        ),
        Caution(
            "resin-waste",
            "Left-over resin",
            (
                "Liquid resin and hardener are hazardous waste: never into a drain or a bin. Mix "
                "what is left in small amounts, let it cure, and dispose of it as local rules say.",
            ),
        ),
        Caution(
            "paint-waste",
            "Left-over paint and rinse water",
            (
                "Nothing down the sink or the drain: let the solids of rinse water settle, let "
                "paint dry hard, and dispose of it as local rules say.",
            ),
        ),
        Caution(
            "children",
            "Children and classes",
            (
                "No resin, solvents or flame with children in the room. Somebody watches them all "
                "the time, and they pour only paints certified for them (AP seal under ASTM "
                "D-4236, EN 71).",
            ),
        ),
    )
}


def cautions_of(*acts: str) -> tuple[Caution, ...]:
    """Return the `Caution` of each act, in the order given; an empty name is passed over."""
    return tuple(CAUTIONS[act] for act in acts if act)
