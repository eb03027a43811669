"""A mix made partly from mixes that are there already."""

from collections.abc import Hashable, Mapping
from dataclasses import dataclass
from decimal import ROUND_FLOOR, Decimal
from fractions import Fraction
from graphlib import TopologicalSorter

from inventory.mixing.proportions.amounts import LEDGER_PLACES, decimal, finest, positive, rounded
from inventory.mixing.proportions.recipes import Ingredient, MixRecipe, proportions


@dataclass(frozen=True)
class Draw:
    """What a mix is made from, by key, [mL]: mixes that were ready, and fresh ingredients."""

    ready: dict[Hashable, Decimal]
    fresh: dict[Hashable, Decimal]


def draw(
    recipe: MixRecipe,
    volume_ml: Decimal,
    ready: Mapping[Hashable, Decimal],
    places: Decimal = LEDGER_PLACES,
) -> Draw:
    """Return what goes into a volume of a mix where some of the mixes in it stand ready.

    A mix that is ready is used first, as far as it goes or is needed, also where it sits in another
    mix or in several; only the rest of it is made from its parts.

    Parameters
    ----------
    recipe : MixRecipe
        The mix, nested to any depth, [-]
    volume_ml : Decimal
        Volume wanted, above zero, [mL]
    ready : mapping of key to Decimal
        How much of which recipes is there, from 0, [mL]
    places : Decimal
        Last place of the amounts, or the volume's own if finer, [mL]

    Returns
    -------
    draw : Draw
        Volumes by the keys of recipes and of ingredients; together they are `volume_ml`, exactly,
        [mL]

    Raises
    ------
    MixingError
        If the volume is not above zero, or a part by weight has no known density.

    Examples
    --------
    >>> from inventory.mixing.proportions import Part
    >>> water, medium = Ingredient("water", "Water"), Ingredient("medium", "Medium")
    >>> thin = MixRecipe("thin", "Thin medium", (Part(medium, Decimal(3)), Part(water, Decimal(1))))
    >>> white = Ingredient("white", "White")
    >>> base = MixRecipe("base", "Base", (Part(thin, Decimal(1)), Part(white, Decimal(1))))
    >>> made = draw(base, Decimal(200), {"thin": Decimal(60)})
    >>> made.ready, [str(ml) for ml in made.fresh.values()]  # white, medium, water
    ({'thin': Decimal('60.0000')}, ['100.0000', '30.0000', '10.0000'])
    """
    positive(volume_ml, "A volume")
    places = finest(places, Decimal(volume_ml))
    recipes = _all_mixes(recipe)
    users: dict[Hashable, list[Hashable]] = {key: [] for key in recipes}
    for key, mix in recipes.items():
        for part in mix.parts:
            if isinstance(part.of, MixRecipe):
                users[part.of.key].append(key)
    needed = dict.fromkeys(recipes, Fraction(0)) | {recipe.key: Fraction(volume_ml)}
    used: dict[Hashable, Decimal] = {}
    exact: dict[Hashable, Fraction] = {}
    for key in TopologicalSorter(users).static_order():  # so that each need is complete
        # Whole places only, so that no more is taken of a mix than there is.
        ready_ml = min(ready.get(key, Decimal(0)), _floor(needed[key], places))
        if ready_ml > 0:
            used[key] = ready_ml.quantize(places, ROUND_FLOOR)
            needed[key] -= Fraction(used[key])
        mix = recipes[key]
        for part, share in zip(mix.parts, proportions(mix), strict=True):
            goes_to = exact if isinstance(part.of, Ingredient) else needed
            goes_to[part.of.key] = goes_to.get(part.of.key, Fraction(0)) + share * needed[key]
    volumes = zip(exact, rounded(exact.values(), places), strict=True)
    return Draw(used, {key: ml for key, ml in volumes if ml})


def _all_mixes(recipe: MixRecipe) -> dict[Hashable, MixRecipe]:
    """Return a recipe and every recipe in it by key."""
    mixes: dict[Hashable, MixRecipe] = {}
    to_see = [recipe]
    while to_see:
        mix = to_see.pop()
        if mix.key not in mixes:
            mixes[mix.key] = mix
            to_see += [part.of for part in mix.parts if isinstance(part.of, MixRecipe)]
    return mixes


def _floor(exact: Fraction, places: Decimal) -> Decimal:
    return decimal(exact // Fraction(places) * Fraction(places))
