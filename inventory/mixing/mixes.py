"""Mixes as stock: the material that bottles of a recipe are of, and what is on hand of them."""

from collections.abc import Iterable

from django.db.models import QuerySet

from inventory.models import Bottle, Material, Recipe
from studio.models import Studio
from studio.text import shortened


def mix_of(recipe: Recipe) -> Material:
    """Return the material that a recipe's mix is kept as, made when it is first needed.

    Call it inside a transaction, before any stock is locked: it locks the recipe.
    """
    recipe = recipe.studio.recipes.select_for_update().get(pk=recipe.pk)
    mix = recipe.mix
    if mix is None:
        mix = recipe.mix = Material.objects.create(
            studio_id=recipe.studio_id,
            name=free_name(recipe),
            kind=Material.Kind.MIX,
            notes="Mixed in the studio by the recipe of this name.",
        )
        recipe.save(update_fields=["mix"])
    elif mix.archived_at:
        mix.archived_at = None
        mix.save(update_fields=["archived_at"])
    return mix


def keep_name(recipe: Recipe) -> None:
    """Let the mix of a recipe that was renamed be called as the recipe is."""
    if recipe.mix is not None:
        recipe.mix.name = free_name(recipe)
        recipe.mix.save(update_fields=["name"])


def free_name(recipe: Recipe) -> str:
    """Return what a recipe's mix can be called: as the recipe, or so that it is told apart."""
    others = Material.objects.filter(studio_id=recipe.studio_id).exclude(pk=recipe.mix_id or 0)
    names_in_use = set(
        others.filter(name__startswith=recipe.name[:100]).values_list("name", flat=True)
    )
    name, number = recipe.name, 1
    while name in names_in_use:
        ending = " (mixed)" if number == 1 else f" (mixed {number})"
        name, number = shortened(recipe.name, 120 - len(ending)) + ending, number + 1
    return name


def mixes_on_hand(studio: Studio, recipes: Iterable[Recipe] | None = None) -> QuerySet[Bottle]:
    """Return the bottles that hold some mix of a recipe, in the order of use, in one query."""
    rows = studio.bottles.on_shelf().filter(material__recipe__isnull=False)
    if recipes is not None:
        rows = rows.filter(material__recipe__in=recipes)
    return rows.in_issue_order().select_related("material__recipe")
