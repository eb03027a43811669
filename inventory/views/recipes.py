"""Recipes: what each mix is made of."""

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET

from inventory.forms import RecipeForm, RecipePartFormSet, ingredient_choices
from inventory.recipes import save_recipe
from studio.access import member_page
from studio.errors import StudioError


@require_GET
@member_page("viewer")
def recipes(request):
    """List the recipes with their parts."""
    rows = request.studio.recipes.filter(archived_at=None)
    rows = rows.prefetch_related("parts__material", "parts__subrecipe")
    return render(request, "inventory/recipes.html", {"recipes": rows})


@require_GET
@member_page("viewer")
def recipe(request, pk):
    """Show one recipe and where it is used."""
    found = get_object_or_404(request.studio.recipes, pk=pk)
    context = {
        "recipe": found,
        "parts": found.parts.select_related("material", "subrecipe"),
        "used_in": found.used_in.select_related("recipe"),
    }
    return render(request, "inventory/recipe.html", context)


def _edit(request, found, title, back):
    form = RecipeForm(request.POST or None, instance=found, studio=request.studio)
    kept = found.parts.all() if found else []
    rows = [
        {
            "parts": part.parts,
            "what": f"m{part.material_id}" if part.material_id else f"r{part.subrecipe_id}",
        }
        for part in kept
    ]
    choices = ingredient_choices(request.studio, besides=found.pk if found else None)
    parts = RecipePartFormSet(
        request.POST or None, prefix="parts", initial=rows, form_kwargs={"choices": choices}
    )
    if request.method == "POST" and form.is_valid() and parts.is_valid():
        try:
            saved = save_recipe(
                studio=request.studio,
                recipe=found,
                parts=_ingredients(request.studio, parts.rows()),
                **form.cleaned_data,
            )
        except StudioError as error:
            form.add_error(None, str(error))
        else:
            messages.success(request, f"{saved} is saved.")
            return redirect("recipe", pk=saved.pk)
    context = {"form": form, "parts": parts, "title": title, "back": back}
    status = 422 if form.is_bound else 200
    return render(request, "inventory/recipe_form.html", context, status=status)


def _ingredients(studio, rows):
    """Turn “m12” and “r3” into the studio's own materials and recipes."""
    materials = studio.materials.in_bulk([int(what[1:]) for what, _ in rows if what[0] == "m"])
    mixes = studio.recipes.in_bulk([int(what[1:]) for what, _ in rows if what[0] == "r"])
    return [
        ((materials if what[0] == "m" else mixes)[int(what[1:])], parts) for what, parts in rows
    ]


@member_page("maker")
def recipe_new(request):
    """Write down a new recipe."""
    return _edit(request, None, "New recipe", reverse("recipes"))


@member_page("maker")
def recipe_edit(request, pk):
    """Change a recipe; pours already logged keep what they used."""
    found = get_object_or_404(request.studio.recipes, pk=pk)
    return _edit(request, found, f"Change {found}", reverse("recipe", args=[pk]))
