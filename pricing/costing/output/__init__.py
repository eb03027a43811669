"""What can be made from what is there: how many of each alone, and the mix that earns most.

`runs` says what making so many takes, `alone` counts one product at a time, `mix` chooses among
all of them, and `gains` says what a little more of something would add.
"""

from pricing.costing.output.alone import Capacity, how_many
from pricing.costing.output.errors import OutputError
from pricing.costing.output.gains import Gain, gains
from pricing.costing.output.mix import ProductMix, best_mix
from pricing.costing.output.runs import Run, missing

__all__ = [
    "Capacity",
    "Gain",
    "OutputError",
    "ProductMix",
    "Run",
    "best_mix",
    "gains",
    "how_many",
    "missing",
]
