"""Mixing sheets: cup by cup, what goes in, in which order, and what the scale then shows."""

from collections import defaultdict
from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import ROUND_FLOOR, Decimal
from fractions import Fraction
from graphlib import TopologicalSorter
from itertools import accumulate

from inventory.mixing.proportions.amounts import finest, positive, rounded
from inventory.mixing.proportions.errors import RecipeError
from inventory.mixing.proportions.recipes import MixRecipe, density, proportions

# What a kitchen scale and a measuring cylinder show.
SHEET_PLACES = Decimal("0.1")


@dataclass(frozen=True)
class MixRequest:
    """A volume of a mix, [mL], that a piece or a layer of it needs.

    `least_ml` is enough where it is mixed already; left out, it is all of it.
    """

    recipe: MixRecipe
    volume_ml: Decimal
    label: str = ""
    least_ml: Decimal | None = None


@dataclass(frozen=True)
class CupStep:
    """One addition to the cup: [mL] and [g], and what the scale shows after it, tared once.

    Grams are None from the first part on whose density is not known. `is_mix` marks a part that is
    itself mixed in an earlier cup.
    """

    key: Hashable
    name: str
    is_mix: bool
    ml: Decimal
    g: Decimal | None
    running_ml: Decimal
    running_g: Decimal | None


@dataclass(frozen=True)
class CupBatch:
    """One mix: how much to mix, [mL] and [g], what for, and step by step.

    `ready_ml` is what is taken beside it of what is mixed already; without anything to mix there
    are no steps.
    """

    key: Hashable
    name: str
    volume_ml: Decimal
    mass_g: Decimal | None
    steps: tuple[CupStep, ...]
    labels: tuple[str, ...] = ()
    note: str = ""
    ready_ml: Decimal = Decimal(0)


def scale(
    recipe: MixRecipe,
    volume_ml: Decimal,
    labels: Sequence[str] = (),
    places: Decimal = SHEET_PLACES,
) -> CupBatch:
    """Return a recipe scaled to a batch, as steps in the order of its parts.

    Rounding keeps running totals: each is the exact one, rounded, and a step is the difference of
    two of them.

    Parameters
    ----------
    recipe : MixRecipe
        The mix; a part that is a recipe is one step here, [-]
    volume_ml : Decimal
        Volume of the batch, above zero, [mL]
    labels : sequence of str
        What the batch is for, [-]
    places : Decimal
        Last place shown; volumes use the batch's own last place if finer, [mL and g]

    Returns
    -------
    batch : CupBatch
        The steps; their volumes add up to `volume_ml` exactly, [mL and g]

    Raises
    ------
    MixingError
        If the volume is not above zero, or a part by weight has no known density.

    Examples
    --------
    >>> from inventory.mixing.proportions import Ingredient, Part
    >>> medium = Ingredient("m", "Medium", Decimal("1.05"))
    >>> paint = Ingredient("p", "Blue", Decimal("1.3"))
    >>> parts = Part(medium, Decimal(2)), Part(paint, Decimal(1))
    >>> batch = scale(MixRecipe("b", "Blue mix", parts), Decimal(90))
    >>> [(step.name, str(step.g), str(step.running_g)) for step in batch.steps]
    [('Medium', '63.0', '63.0'), ('Blue', '39.0', '102.0')]
    """
    volume = positive(volume_ml, "A volume")
    exact_ml = [share * volume for share in proportions(recipe)]
    volumes = rounded(exact_ml, finest(places, Decimal(volume_ml)))
    grams, note = _grams(recipe, exact_ml, places)
    weighed = [*zip(grams, accumulate(grams), strict=True)]
    unweighed = [(None, None)] * (len(volumes) - len(weighed))
    steps = tuple(
        CupStep(
            part.of.key, part.of.name, isinstance(part.of, MixRecipe), ml, g, running_ml, running_g
        )
        for part, ml, running_ml, (g, running_g) in zip(
            recipe.parts, volumes, accumulate(volumes), [*weighed, *unweighed], strict=True
        )
    )
    return CupBatch(
        key=recipe.key,
        name=recipe.name,
        volume_ml=Decimal(volume_ml),
        mass_g=steps[-1].running_g,
        steps=steps,
        labels=tuple(labels),
        note=note,
    )


def mixing_sheet(
    jobs: Iterable[MixRequest],
    places: Decimal = SHEET_PLACES,
    ready: Mapping[Hashable, Decimal] | None = None,
) -> tuple[CupBatch, ...]:
    """Return the cups of one piece or a whole day, equal mixes put together.

    A mix that is part of others is mixed first, in one cup for all of them. What is mixed already
    is used up, and only the rest is mixed; where it is enough, nothing is.

    Parameters
    ----------
    jobs : iterable of MixRequest
        Mixes wanted, in the order in which they are poured, [mL]
    places : Decimal
        Last place shown, [mL and g]
    ready : mapping of key to Decimal, optional
        How much of which recipes is mixed already, from 0, [mL]

    Returns
    -------
    batches : tuple of CupBatch
        One for each recipe, contained ones before those that use them, otherwise in the order of
        the jobs, [mL and g]

    Raises
    ------
    MixingError
        If a volume is not above zero, a part by weight has no known density, or two different
        recipes share a key.

    Examples
    --------
    >>> from inventory.mixing.proportions import Ingredient, Part
    >>> white = MixRecipe("w", "White", (Part(Ingredient("p", "White paint"), Decimal(1)),))
    >>> tiles = [(Decimal(20), "Tile 1"), (Decimal(25), "Tile 2")]
    >>> sheet = mixing_sheet(MixRequest(white, ml, tile) for ml, tile in tiles)
    >>> [(batch.name, str(batch.volume_ml), batch.labels) for batch in sheet]
    [('White', '45.0', ('Tile 1', 'Tile 2'))]
    >>> (rest,) = mixing_sheet([MixRequest(white, Decimal(45))], ready={"w": Decimal(30)})
    >>> rest.ready_ml, rest.volume_ml
    (Decimal('30.0'), Decimal('15.0'))
    """
    ready = ready or {}
    recipes: dict[Hashable, MixRecipe] = {}
    to_mix: dict[Hashable, Decimal] = defaultdict(Decimal)
    least: dict[Hashable, Decimal] = defaultdict(Decimal)
    ready_by_key: dict[Hashable, Decimal] = {}
    labels: dict[Hashable, list[str]] = defaultdict(list)
    for job in jobs:
        positive(job.volume_ml, "A volume")
        _collect(job.recipe, recipes)
        to_mix[job.recipe.key] += Decimal(job.volume_ml)
        least[job.recipe.key] += job.volume_ml if job.least_ml is None else job.least_ml
        labels[job.recipe.key].append(job.label)
    inside = {key: [mix.key for mix in _mixes(recipe)] for key, recipe in recipes.items()}
    users = {key: [user for user in inside if key in inside[user]] for key in inside}
    for key in TopologicalSorter(users).static_order():  # so that each need is complete
        there = min(ready.get(key, Decimal(0)), to_mix[key])
        if there >= least[key]:
            ready_by_key[key], to_mix[key] = there, Decimal(0)
        else:  # whole places only, so that the rest can be measured
            ready_by_key[key] = there.quantize(places, ROUND_FLOOR)
            to_mix[key] -= ready_by_key[key]
        for step in _cup(recipes[key], to_mix[key], (), places).steps:
            if step.is_mix:
                # A trace that shows as nothing still has to be mixed.
                needed = step.ml or places
                to_mix[step.key] += needed
                least[step.key] += needed
                labels[step.key].append(recipes[key].name)
    return tuple(
        replace(
            _cup(recipes[key], to_mix[key], _once(labels[key]), places), ready_ml=ready_by_key[key]
        )
        for key in _contained_first(inside)
        if to_mix[key] or ready_by_key[key]
    )


def _cup(recipe: MixRecipe, volume_ml: Decimal, labels: Sequence[str], places: Decimal) -> CupBatch:
    """Return a recipe scaled to a batch; one of nothing has no steps."""
    if volume_ml:
        return scale(recipe, volume_ml, labels, places)
    return CupBatch(recipe.key, recipe.name, volume_ml, None, (), tuple(labels))


def _grams(
    recipe: MixRecipe, volumes: list[Fraction], places: Decimal
) -> tuple[tuple[Decimal, ...], str]:
    """Return grams up to the first part that cannot be weighed, and a note about that part."""
    masses = []
    for part, volume in zip(recipe.parts, volumes, strict=True):
        try:
            masses.append(volume * density(part.of))
        except RecipeError as error:
            return rounded(masses, places), f"No grams from “{part.of.name}” on. {error}"
    return rounded(masses, places), ""


def _collect(recipe: MixRecipe, recipes: dict[Hashable, MixRecipe]) -> None:
    first = recipes.setdefault(recipe.key, recipe)
    if first is not recipe and first != recipe:
        raise RecipeError(f"“{first.name}” and “{recipe.name}” are two recipes with one key.")
    for mix in _mixes(recipe):
        if recipes.get(mix.key) is not mix:
            _collect(mix, recipes)


def _mixes(recipe: MixRecipe) -> list[MixRecipe]:
    return [part.of for part in recipe.parts if isinstance(part.of, MixRecipe)]


def _contained_first(inside: dict[Hashable, list[Hashable]]) -> list[Hashable]:
    """Return contained mixes first, then the rest in the order in which they were met."""
    used = {key for keys in inside.values() for key in keys}
    order = TopologicalSorter(inside).static_order()
    return [key for key in order if key in used] + [key for key in inside if key not in used]


def _once(labels: list[str]) -> list[str]:
    return [*dict.fromkeys(label for label in labels if label)]
