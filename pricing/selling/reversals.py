"""An entry of a batch, a pour, a topcoat or a set may be undone from the ledger: work follows."""

from pricing.bench.batches import batch_reversed
from pricing.bench.pours import pour_reversed
from pricing.bench.topcoats import topcoat_reversed
from pricing.selling.sales import packing_reversed

FOLLOWERS = {
    "batch": batch_reversed,
    "pour": pour_reversed,
    "topcoating": topcoat_reversed,
    "piece_set": packing_reversed,
}


def follow(entry, by):
    """Undo the work an entry was of; a refusal stops the reversal itself."""
    for name, carry_over in FOLLOWERS.items():
        work = getattr(entry, name, None)
        if work is not None:
            carry_over(work, by)
