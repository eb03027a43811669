"""What a practitioner would ask of a recipe: resin, water, how thick a film may dry, keeping."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction

from inventory.mixing.mix_book import MixBook
from inventory.mixing.proportions import MixingError, flatten
from inventory.mixing.proportions.amounts import Number
from inventory.mixing.proportions.dilution import DILUTED_DAYS, Dilution, dilution
from inventory.mixing.proportions.mediums import CRAZING_FILM_MM, Medium, medium_of
from inventory.models import Material, Recipe
from studio.errors import StudioError

Kind = Material.Kind
PAINT = {Kind.PAINT, Kind.MIX}
RESIN = {Kind.RESIN, Kind.HARDENER}
# What is said of a film of a recipe, by the medium that decides.
FILM_WORDS: dict[Medium, str] = {
    "ordinary": "There is no pouring medium in it, or less than there is of paint: a wet film of "
    "{limit:g} mm or more on the face tends to craze as it dries. Let more run off so that it "
    "stays thinner, or mix in as much pouring medium as paint. If a bottle of it is a pouring "
    "medium, say so with the material.",
    "pouring": "With pouring medium a wet film of up to {limit:g} mm on the face is less likely to "
    "craze as it dries.",
    "anti-craze": "With four parts or more of anti-craze medium to one of paint a wet film of up "
    "to {limit:g} mm on the face is less likely to craze as it dries.",
}
WATER_WORDS: dict[Dilution, str] = {
    "fine": "",
    "sources differ": "{share:.0f} % of it is water. Sources differ on what binders bear: some "
    "keep to 30 %, others to half, and nobody has published tests on glazed tile. Thin with a "
    "medium instead, or pour a test first.",
    "too much": "{share:.0f} % of it is water, more than binders are said to bear (30 to 50 %, "
    "sources differ): the paint may bead, craze and lift. Thin with a medium instead.",
}


@dataclass(frozen=True)
class Question:
    """Something to ask of a recipe before it is poured, in a sentence; a note is no warning."""

    code: str
    sentence: str
    is_warning: bool


def resin_problem(materials: Iterable[Material]) -> str:
    """Return the sentence that refuses parts of resin in paint, or nothing."""
    named = sorted(one.name for one in materials if one.kind in RESIN)
    if not named:
        return ""
    verb = "is a part" if len(named) == 1 else "are parts"
    return (
        f"{', '.join(named)} {verb} of a resin: it is mixed by its kit alone, never into paint, "
        "where it does not cure and can hurt whoever touches it. Take it out."
    )


def questions_of(book: MixBook, recipe: Recipe) -> tuple[Question, ...]:
    """Return what is to be asked of a recipe; one whose volumes are not known is asked less."""
    shares = _shares(book, recipe)
    found = []
    if problem := resin_problem(shares):
        found.append(Question("resin", problem, True))
    water = float(sum(share for of, share in shares.items() if of.kind == Kind.WATER))
    if words := WATER_WORDS[dilution(min(water, 1.0), 1)]:
        found.append(Question("water", words.format(share=100 * water), True))
    found.append(Question("film", film_note(medium_in(shares)), False))
    if recipe.keeps_days is None and water:
        found.append(
            Question(
                "keeps",
                "With water in it, it keeps for less time than the bottles it is mixed from: it is "
                f"taken to keep {DILUTED_DAYS} days, our guess. Say with the recipe how long it "
                "keeps with you.",
                False,
            )
        )
    return tuple(found)


def keeps_days(book: MixBook, recipe: Recipe) -> int | None:
    """Return for how many days a mix of a recipe keeps: as it says, or our guess with water in it.

    None where nothing but its bottles limits it.
    """
    if recipe.keeps_days is not None:
        return recipe.keeps_days
    has_water = any(of.kind == Kind.WATER for of in _shares(book, recipe))
    return DILUTED_DAYS if has_water else None


def medium_in(amounts: Mapping[Material, Number]) -> Medium:
    """Return which medium decides how thick a film of some materials, {material: mL}, may dry.

    What a bottle is marked as counts, also a paint sold ready to pour; what is not marked counts
    as ordinary.
    """
    volumes: dict[str, float] = {"paint": 0, "pouring": 0, "anti-craze": 0}
    for material, ml in amounts.items():
        if material.medium in volumes:
            volumes[material.medium] += float(ml)
        elif material.kind in PAINT:
            volumes["paint"] += float(ml)
    return medium_of(volumes["paint"], volumes["pouring"], volumes["anti-craze"])


def medium_of_recipe(book: MixBook, recipe: Recipe) -> Medium:
    """Return which medium decides how thick a film of a recipe may dry.

    Where a density is missing, so that its volumes are not known, it counts as ordinary.
    """
    return medium_in(_shares(book, recipe))


def film_note(medium: Medium) -> str:
    """Return what a film of a recipe with a medium bears, and what to do about it."""
    return FILM_WORDS[medium].format(limit=CRAZING_FILM_MM[medium])


def _shares(book: MixBook, recipe: Recipe) -> dict[Material, Fraction]:
    """Return {material: share} of a mix by volume; nothing where volumes are not known."""
    try:
        shares = flatten(book.mix(recipe.pk))
    except (MixingError, StudioError):
        return {}
    return {book.materials[one.key]: share for one, share in shares.items()}
