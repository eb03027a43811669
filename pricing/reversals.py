"""An entry of a batch, a pour, a topcoat or a set may be undone from the ledger: work follows."""

from inventory.signals import entry_reversed
from pricing.batches import batch_reversed
from pricing.pours import pour_reversed
from pricing.sales import packing_reversed
from pricing.topcoats import topcoat_reversed

FOLLOWERS = {
    "batch": batch_reversed,
    "pour": pour_reversed,
    "topcoating": topcoat_reversed,
    "piece_set": packing_reversed,
}


def follow(sender, entry, by, **kwargs):
    """Undo the work an entry was of; a refusal stops the reversal itself."""
    for name, carry_over in FOLLOWERS.items():
        work = getattr(entry, name, None)
        if work is not None:
            carry_over(work, by)


def connect():
    """Listen to the ledger, once."""
    entry_reversed.connect(follow, dispatch_uid="pricing.reversals")
