"""Recipes: write one down whole, or refuse it in words."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal

from django.db import transaction

from inventory.errors import NotInStudio, RecipeRefused
from inventory.mixing.mixes import keep_name
from inventory.mixing.questions import resin_problem
from inventory.models import Material, Recipe, RecipePart
from studio.models import Studio

# What goes in, a material or another mix, and how many parts of it.
Parts = Sequence[tuple[Material | Recipe, Decimal]]
MOST_PARTS = 40
NOT_MIXED = (Material.Kind.SURFACE, Material.Kind.PACKAGING)


@transaction.atomic
def save_recipe(
    *,
    studio: Studio,
    name: str,
    role: str,
    basis: str,
    parts: Iterable[tuple[Material | Recipe, Decimal]],
    recipe: Recipe | None = None,
    trace_seconds: Decimal | None = None,
    keeps_days: int | None = None,
    notes: str = "",
) -> Recipe:
    """Write down a recipe, or change one; returns it.

    ``parts`` are (material or recipe, number of parts) pairs, in the order of mixing. Raises
    `RecipeRefused` for parts that cannot be mixed, for a name that is taken, and for recipes that
    would contain each other, naming the ring.
    """
    parts = list(parts)
    # All of them, so that two people cannot close a ring from both ends.
    recipes = {row.pk: row for row in studio.recipes.select_for_update().order_by("pk")}
    if recipe is not None and recipe.pk not in recipes:
        raise NotInStudio("There is no recipe like that in this studio.")
    _check_name(name, recipes, recipe)
    _check_parts(studio, parts, recipes)
    if recipe is not None:
        _refuse_ring(studio, recipe, name, parts, recipes)
    saved = recipes[recipe.pk] if recipe is not None else Recipe(studio=studio)
    saved.name, saved.role, saved.basis = name.strip(), role, basis
    saved.trace_seconds, saved.keeps_days, saved.notes = trace_seconds, keeps_days, notes
    saved.save()
    keep_name(saved)
    saved.parts.all().delete()
    RecipePart.objects.bulk_create(
        RecipePart(
            recipe=saved,
            material=thing if isinstance(thing, Material) else None,
            subrecipe=thing if isinstance(thing, Recipe) else None,
            parts=number,
            position=position,
        )
        for position, (thing, number) in enumerate(parts)
    )
    return saved


def _check_name(name: str, recipes: Mapping[int, Recipe], recipe: Recipe | None) -> None:
    if not name.strip():
        raise RecipeRefused("Give the recipe a name.")
    mine = recipe.pk if recipe is not None else None
    if any(row.name == name.strip() and row.pk != mine for row in recipes.values()):
        raise RecipeRefused(f"There is a recipe “{name.strip()}” already. Give this one another.")


def _check_parts(studio: Studio, parts: Parts, recipes: Mapping[int, Recipe]) -> None:
    if not 1 <= len(parts) <= MOST_PARTS:
        raise RecipeRefused(f"A recipe has from 1 to {MOST_PARTS} ingredients.")
    mixed = {recipe.mix_id for recipe in recipes.values()}
    for thing, number in parts:
        if thing.studio_id != studio.pk or (isinstance(thing, Recipe) and thing.pk not in recipes):
            raise NotInStudio("There is no ingredient like that in this studio.")
        if isinstance(thing, Material):
            if thing.pk in mixed:
                raise RecipeRefused(f"{thing} is mixed in the studio: choose its recipe instead.")
            if thing.kind in NOT_MIXED or thing.unit == Material.Unit.EACH:
                raise RecipeRefused(f"{thing} cannot be mixed: choose what pours or is weighed.")
        if not isinstance(number, Decimal) or not number.is_finite():
            raise RecipeRefused(f"Give the parts of {thing} as a number.")
        if not Decimal("0.001") <= number < 1_000_000:
            raise RecipeRefused(f"The parts of {thing} are from 0.001 to below 1,000,000.")
    if problem := resin_problem(thing for thing, _ in parts if isinstance(thing, Material)):
        raise RecipeRefused(problem)
    things = [(type(thing), thing.pk) for thing, _ in parts]
    if len(set(things)) < len(things):
        raise RecipeRefused("Each ingredient stands in a recipe once: add its parts together.")


def _refuse_ring(
    studio: Studio, recipe: Recipe, name: str, parts: Parts, recipes: Mapping[int, Recipe]
) -> None:
    """Refuse parts that lead back to the recipe itself, and name the way round."""
    inside = defaultdict(list)
    pairs = RecipePart.objects.filter(recipe__studio=studio, subrecipe__isnull=False)
    for outer, inner in pairs.exclude(recipe=recipe).values_list("recipe_id", "subrecipe_id"):
        inside[outer].append(inner)
    ways = [[thing.pk] for thing, _ in parts if isinstance(thing, Recipe)]
    seen = set()
    while ways:
        way = ways.pop()
        if way[-1] == recipe.pk:
            names = [name.strip(), *(recipes[pk].name for pk in way[:-1]), name.strip()]
            raise RecipeRefused(f"A recipe cannot contain itself: {' → '.join(names)}.")
        if way[-1] not in seen:
            seen.add(way[-1])
            ways += [[*way, inner] for inner in inside[way[-1]]]
