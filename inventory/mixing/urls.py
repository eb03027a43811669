"""Pages of recipes."""

from django.urls import path

from inventory.mixing.views import recipes

urlpatterns = [
    path("recipes/", recipes.recipes, name="recipes"),
    path("recipes/new/", recipes.recipe_new, name="recipe-new"),
    path("recipes/<int:pk>/", recipes.recipe, name="recipe"),
    path("recipes/<int:pk>/edit/", recipes.recipe_edit, name="recipe-edit"),
    path("recipes/<int:pk>/archive/", recipes.recipe_archive, name="recipe-archive"),
]
