"""From a palette to the bench: shares of its colours, and the mixing sheet.

`colours` splits a palette, `sheets` scales mixes to cups.
What a recipe is made of stands in `inventory.mixing.proportions`.
"""

from pricing.estimating.mixing.colours import LEAST_ML, Split, shares, split, top_up
from pricing.estimating.mixing.sheets import Batch, Job, Step, mixing_sheet, scale

__all__ = [
    "LEAST_ML",
    "Batch",
    "Job",
    "Split",
    "Step",
    "mixing_sheet",
    "scale",
    "shares",
    "split",
    "top_up",
]
