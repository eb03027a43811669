"""What a mix is made of: shares of a palette, recipes, and the mixing sheet.

`colours` splits a palette, `recipes` turns a mix into its materials, `sheets` scales it to a cup.
"""

from pricing.mixing.amounts import rounded
from pricing.mixing.colours import LEAST_ML, Split, shares, split
from pricing.mixing.cycles import find_cycle, refuse_cycle
from pricing.mixing.errors import MixingError, RecipeError
from pricing.mixing.recipes import (
    Amount,
    Ingredient,
    Part,
    Recipe,
    density,
    explode,
    flatten,
    proportions,
)
from pricing.mixing.reclaimed import Reclaimed, use_reclaimed
from pricing.mixing.sheets import Batch, Job, Step, mixing_sheet, scale

__all__ = [
    "LEAST_ML",
    "Amount",
    "Batch",
    "Ingredient",
    "Job",
    "MixingError",
    "Part",
    "Recipe",
    "RecipeError",
    "Reclaimed",
    "Split",
    "Step",
    "density",
    "explode",
    "find_cycle",
    "flatten",
    "mixing_sheet",
    "proportions",
    "refuse_cycle",
    "rounded",
    "scale",
    "shares",
    "split",
    "use_reclaimed",
]
