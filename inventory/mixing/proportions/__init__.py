"""What a mix is made of: recipes, nested to any depth, as exact volumes of their materials."""

from inventory.mixing.proportions.amounts import rounded
from inventory.mixing.proportions.cycles import find_cycle, refuse_cycle
from inventory.mixing.proportions.drawing import Draw, draw
from inventory.mixing.proportions.errors import MixingError, RecipeError
from inventory.mixing.proportions.recipes import (
    Ingredient,
    IngredientAmount,
    MixRecipe,
    Part,
    density,
    explode,
    flatten,
    proportions,
)

__all__ = [
    "Draw",
    "Ingredient",
    "IngredientAmount",
    "MixRecipe",
    "MixingError",
    "Part",
    "RecipeError",
    "density",
    "draw",
    "explode",
    "find_cycle",
    "flatten",
    "proportions",
    "refuse_cycle",
    "rounded",
]
