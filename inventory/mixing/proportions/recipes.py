"""Recipes: parts by volume or by weight, nested, and what they come to.

Volumes are taken to add up when liquids are mixed. Water and acrylic lose a little on mixing; a
kitchen scale and a cup do not show it.
"""

from collections.abc import Hashable
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from inventory.mixing.proportions.amounts import LEDGER_PLACES, finest, positive, rounded
from inventory.mixing.proportions.errors import RecipeError


@dataclass(frozen=True)
class Ingredient:
    """A material a recipe is made of; its density, [g/mL], may be unknown."""

    key: Hashable
    name: str
    density_g_per_ml: Decimal | None = None

    def __post_init__(self) -> None:
        if self.density_g_per_ml is not None:
            positive(self.density_g_per_ml, f"The density of “{self.name}”")


@dataclass(frozen=True)
class Part:
    """So many parts, [-], of an ingredient or of another recipe."""

    of: "Ingredient | MixRecipe"
    parts: Decimal

    def __post_init__(self) -> None:
        positive(self.parts, f"The parts of “{self.of.name}”")


@dataclass(frozen=True)
class MixRecipe:
    """A mix; the order of its parts is the order in which they go into the cup."""

    key: Hashable
    name: str
    parts: tuple[Part, ...]
    basis: Literal["volume", "weight"] = "volume"

    def __post_init__(self) -> None:
        if not self.parts:
            raise RecipeError(f"“{self.name}” needs at least one part.")
        if self.basis not in ("volume", "weight"):
            raise RecipeError(
                f"Parts are by volume or by weight, not by {self.basis} as in “{self.name}”."
            )


@dataclass(frozen=True)
class IngredientAmount:
    """So much of one ingredient: [mL], and [g] where its density is known."""

    ingredient: Ingredient
    ml: Decimal
    g: Decimal | None


def proportions(recipe: MixRecipe) -> list[Fraction]:
    """Return the volume of each part in one mL of a mix, exact and adding up to one.

    Parameters
    ----------
    recipe : MixRecipe
        The mix; a part that is a recipe stays one part, [-]

    Returns
    -------
    volumes : list of Fraction
        In the order of the parts, [mL/mL]

    Raises
    ------
    RecipeError
        If a part by weight has no known density.

    Examples
    --------
    >>> heavy, light = Ingredient("h", "Paint", Decimal(2)), Ingredient("l", "Water", Decimal(1))
    >>> mix = MixRecipe("m", "Mix", (Part(heavy, Decimal(1)), Part(light, Decimal(1))), "weight")
    >>> proportions(mix)
    [Fraction(1, 3), Fraction(2, 3)]

    References
    ----------
    Balance of mass through density: ``v = w / rho``.
    """
    return _proportions(recipe, {})


def flatten(recipe: MixRecipe) -> dict[Ingredient, Fraction]:
    """Return the volume of each ingredient in one mL of a mix, exact and adding up to one.

    Parameters
    ----------
    recipe : MixRecipe
        The mix, nested to any depth, [-]

    Returns
    -------
    volumes : dict of Ingredient to Fraction
        In the order in which ingredients are first met, [mL/mL]

    Raises
    ------
    RecipeError
        If a part by weight has no known density.

    Examples
    --------
    >>> water = Ingredient("water", "Water", Decimal(1))
    >>> medium = Ingredient("medium", "Medium", Decimal("1.05"))
    >>> thin = MixRecipe("t", "Thin medium", (Part(medium, Decimal(3)), Part(water, Decimal(1))))
    >>> [str(volume) for volume in flatten(thin).values()]
    ['3/4', '1/4']
    """
    return _flatten(recipe, {})


def density(of: Ingredient | MixRecipe) -> Fraction:
    """Return the density of an ingredient or of a mix, exact.

    Parameters
    ----------
    of : Ingredient or MixRecipe
        What is weighed, [-]

    Returns
    -------
    density : Fraction
        Sum of volume share times density, [g/mL]

    Raises
    ------
    RecipeError
        If a density is unknown; the text names the material.

    Examples
    --------
    >>> water = Ingredient("water", "Water", Decimal(1))
    >>> paint = Ingredient("paint", "White", Decimal("1.4"))
    >>> density(MixRecipe("w", "White wash", (Part(paint, Decimal(1)), Part(water, Decimal(1)))))
    Fraction(6, 5)
    """
    return _density(of, {}, asked_by=of.name)


def explode(
    recipe: MixRecipe, volume_ml: Decimal, places: Decimal = LEDGER_PLACES
) -> dict[Hashable, IngredientAmount]:
    """Return how much of each ingredient goes into a volume of a mix.

    Parameters
    ----------
    recipe : MixRecipe
        The mix, nested to any depth, [-]
    volume_ml : Decimal
        Volume wanted, above zero, [mL]
    places : Decimal
        Last place of the amounts, or the volume's own if finer, [mL and g]

    Returns
    -------
    amounts : dict of key to IngredientAmount
        By the ingredient's key. The volumes add up to `volume_ml` exactly, and where every density
        is known the masses add up to the mix's mass, rounded once, [mL and g]

    Raises
    ------
    MixingError
        If the volume is not above zero, or a part by weight has no known density.

    Examples
    --------
    >>> water = Ingredient("water", "Water", Decimal(1))
    >>> paint = Ingredient("paint", "White", Decimal("1.4"))
    >>> wash = MixRecipe("w", "White wash", (Part(paint, Decimal(2)), Part(water, Decimal(1))))
    >>> amount = explode(wash, Decimal(90))["paint"]
    >>> amount.ml, amount.g
    (Decimal('60.0000'), Decimal('84.0000'))
    """
    volume = positive(volume_ml, "A volume")
    exact = {ingredient: share * volume for ingredient, share in flatten(recipe).items()}
    places = finest(places, Decimal(volume_ml))
    weighed = {
        ingredient: ml * Fraction(ingredient.density_g_per_ml)
        for ingredient, ml in exact.items()
        if ingredient.density_g_per_ml is not None
    }
    grams = dict(zip(weighed, rounded(weighed.values(), places), strict=True))
    volumes = zip(exact, rounded(exact.values(), places), strict=True)
    return {item.key: IngredientAmount(item, ml, grams.get(item)) for item, ml in volumes}


# A mix used by several others is worked out once, or layers of shared mixes would double the work
# at each depth. Keyed by identity, since hashing a nested recipe walks all of it.
_Known = dict[int, dict[Ingredient, Fraction]]


def _flatten(recipe: MixRecipe, memo: _Known) -> dict[Ingredient, Fraction]:
    if id(recipe) in memo:
        return memo[id(recipe)]
    flat: dict[Ingredient, Fraction] = {}
    for part, volume in zip(recipe.parts, _proportions(recipe, memo), strict=True):
        within = (
            {part.of: Fraction(1)} if isinstance(part.of, Ingredient) else _flatten(part.of, memo)
        )
        for ingredient, share in within.items():
            flat[ingredient] = flat.get(ingredient, Fraction(0)) + share * volume
    memo[id(recipe)] = flat
    return flat


def _proportions(recipe: MixRecipe, memo: _Known) -> list[Fraction]:
    relative = [Fraction(part.parts) for part in recipe.parts]
    if recipe.basis == "weight":
        relative = [
            parts / _density(part.of, memo, asked_by=recipe.name)
            for part, parts in zip(recipe.parts, relative, strict=True)
        ]
    whole = sum(relative)
    return [each / whole for each in relative]


def _density(of: Ingredient | MixRecipe, memo: _Known, *, asked_by: str) -> Fraction:
    flat = {of: Fraction(1)} if isinstance(of, Ingredient) else _flatten(of, memo)
    total = Fraction(0)
    for ingredient, share in flat.items():
        if ingredient.density_g_per_ml is None:
            raise RecipeError(
                f"“{asked_by}” cannot be weighed, because the density of “{ingredient.name}” is "
                "not known. Weigh a measured volume of it and enter grams per mL."
            )
        total += share * Fraction(ingredient.density_g_per_ml)
    return total
