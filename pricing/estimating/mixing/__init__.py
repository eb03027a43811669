"""From a palette to the bench: shares of its colours, and the mixing sheet.

`colours` splits a palette, `sheets` scales mixes to cups, `spent` says where what is mixed goes.
What a recipe is made of stands in `inventory.mixing.proportions`.
"""

from pricing.estimating.mixing.colours import (
    LEAST_ML,
    MEASURABLE_ML,
    Split,
    shares,
    split,
    top_up,
)
from pricing.estimating.mixing.sheets import CupBatch, CupStep, MixRequest, mixing_sheet, scale
from pricing.estimating.mixing.spent import Spent, spent

__all__ = [
    "LEAST_ML",
    "MEASURABLE_ML",
    "CupBatch",
    "CupStep",
    "MixRequest",
    "Spent",
    "Split",
    "mixing_sheet",
    "scale",
    "shares",
    "spent",
    "split",
    "top_up",
]
