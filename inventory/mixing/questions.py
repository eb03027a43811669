"""What a practitioner would ask of a recipe: how thick its film may dry."""

from collections.abc import Mapping

from inventory.mixing.mix_book import MixBook
from inventory.mixing.proportions import MixingError, flatten
from inventory.mixing.proportions.amounts import Number
from inventory.mixing.proportions.mediums import CRAZING_FILM_MM, Medium, medium_of
from inventory.models import Material, Recipe
from studio.errors import StudioError

Kind = Material.Kind
PAINT = {Kind.PAINT, Kind.MIX}
# What is said of a film of a recipe, by the medium that decides.
FILM_WORDS = {
    "ordinary": "There is no pouring medium in it, or less than there is of paint: a wet film of "
    "{limit:g} mm or more on the face tends to craze as it dries. Let more run off so that it "
    "stays thinner, or mix in as much pouring medium as paint. If a bottle of it is a pouring "
    "medium, say so with the material.",
    "pouring": "With pouring medium a wet film of up to {limit:g} mm on the face is less likely to "
    "craze as it dries.",
    "anti-craze": "With four parts or more of anti-craze medium to one of paint a wet film of up "
    "to {limit:g} mm on the face is less likely to craze as it dries.",
}


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
    try:
        shares = flatten(book.mix(recipe.pk))
    except (MixingError, StudioError):
        return "ordinary"
    return medium_in({book.materials[one.key]: share for one, share in shares.items()})


def film_note(medium: Medium) -> str:
    """Return what a film of a recipe with a medium bears, and what to do about it."""
    return FILM_WORDS[medium].format(limit=CRAZING_FILM_MM[medium])
