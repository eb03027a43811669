"""An entry of a batch, a pour, a topcoat or a set may be undone from the ledger: work follows."""

from collections.abc import Callable
from typing import Any

from django.contrib.auth.models import User

from inventory.models import Entry
from pricing.bench.batches import batch_reversed
from pricing.bench.pours import pour_reversed
from pricing.bench.topcoats import topcoat_reversed
from pricing.selling.sales import packing_reversed

# Each takes its own kind of work.
FOLLOWERS: dict[str, Callable[[Any, User], None]] = {
    "batch": batch_reversed,
    "pour": pour_reversed,
    "topcoating": topcoat_reversed,
    "piece_set": packing_reversed,
}


def follow(entry: Entry, by: User) -> None:
    """Undo the work an entry was of; a refusal stops the reversal itself."""
    for name, carry_over in FOLLOWERS.items():
        work = getattr(entry, name, None)
        if work is not None:
            carry_over(work, by)
