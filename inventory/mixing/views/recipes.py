"""Recipes: what each mix is made of."""

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from inventory.mixing.forms.recipes import RecipeForm
from inventory.mixing.mix_book import mix_book
from inventory.mixing.mixes import mixes_on_hand
from inventory.mixing.questions import questions_of
from inventory.mixing.recipes import save_recipe
from inventory.models import Recipe
from inventory.supplies.hazards import hazards_of
from studio.access import member_page
from studio.requests import StudioRequest
from studio.views.form_page import form_page
from studio.views.lists import page_of
from studio.views.registers import put_away


@require_safe
@member_page("viewer")
def recipes(request: StudioRequest) -> HttpResponse:
    """List the recipes with their parts, or those that were archived."""
    away = "away" in request.GET
    rows = request.studio.recipes.filter(archived_at__isnull=not away)
    rows = rows.prefetch_related("parts__material", "parts__subrecipe")
    context = {"page": page_of(request, rows), "away": away}
    return render(request, "inventory/mixing/recipes.html", context)


@require_safe
@member_page("viewer")
def recipe(request: StudioRequest, pk: int) -> HttpResponse:
    """Show one recipe and where it is used."""
    recipe = get_object_or_404(request.studio.recipes, pk=pk)
    parts = recipe.parts.select_related("material", "subrecipe")
    context = {
        "recipe": recipe,
        "questions": questions_of(mix_book(request.studio), recipe),
        "parts": parts,
        "hazards": hazards_of(part.material for part in parts if part.material),
        "on_hand": mixes_on_hand(request.studio, [recipe]),
        "used_in": recipe.used_in.select_related("recipe"),
    }
    return render(request, "inventory/mixing/recipe.html", context)


def _edit(
    request: StudioRequest, recipe: Recipe | None, title: str, back: str, back_label: str
) -> HttpResponse:
    more_rows = "more" in request.POST
    form = RecipeForm(
        None if more_rows else request.POST or None,
        studio=request.studio,
        instance=recipe,
        typed=request.POST if more_rows else None,
    )
    return form_page(
        request,
        form,
        template="inventory/mixing/recipe_form.html",
        title=title,
        act=lambda data: save_recipe(
            studio=request.studio, recipe=recipe, parts=form.ingredients(), **data
        ),
        done=lambda saved_recipe: (
            f"{saved_recipe} is saved.",
            reverse("recipe", args=[saved_recipe.pk]),
        ),
        back=back,
        back_label=back_label,
    )


@member_page("maker")
def recipe_new(request: StudioRequest) -> HttpResponse:
    """Write down a new recipe."""
    return _edit(request, None, "New recipe", reverse("recipes"), "Recipes")


@member_page("maker")
def recipe_edit(request: StudioRequest, pk: int) -> HttpResponse:
    """Change a recipe; pours already logged keep what they used."""
    recipe = get_object_or_404(request.studio.recipes, pk=pk)
    return _edit(request, recipe, f"Change {recipe}", reverse("recipe", args=[pk]), str(recipe))


@require_POST
@member_page("maker")
def recipe_archive(request: StudioRequest, pk: int) -> HttpResponse:
    """Put a recipe away, or bring it back; palettes and recipes that use it keep it."""
    recipe = get_object_or_404(request.studio.recipes, pk=pk)
    return put_away(request, recipe, back=reverse("recipe", args=[pk]))
