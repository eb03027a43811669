"""Undo the batch, pour, topcoat, set or recovery whose entry is reversed from the ledger."""

from collections.abc import Callable
from typing import Any

from django.contrib.auth.models import User
from django.db.models import Q

from inventory.models import Entry
from pricing.bench.batches import batch_reversed
from pricing.bench.pours import pour_reversed
from pricing.bench.recovering import recovery_reversed
from pricing.bench.topcoats import topcoat_reversed
from pricing.commissions.progress import lock_work
from pricing.models import PieceSet, Pour
from pricing.selling.sales import packing_reversed

# Each takes its own kind of work.
FOLLOWERS: dict[str, Callable[[Any, User], None]] = {
    "batch": batch_reversed,
    "pour": pour_reversed,
    "topcoating": topcoat_reversed,
    "piece_set": packing_reversed,
    "recovered_pieces": recovery_reversed,
}


def lock(entry: Entry) -> None:
    """Lock the work that an entry about to be reversed belongs to, before its stock is."""
    pours = Pour.objects.filter(
        Q(entry=entry) | Q(topcoatings__entry=entry) | Q(pieces__recovery=entry)
    )
    sets = PieceSet.objects.filter(entry=entry)
    keys = [list(rows.order_by().values_list("pk", flat=True)) for rows in (pours, sets)]
    if any(keys):
        lock_work(pours=keys[0], sets=keys[1])


def follow(entry: Entry, by: User) -> None:
    """Undo the work that an entry belongs to; a refusal stops the reversal itself."""
    for name, carry_over in FOLLOWERS.items():
        work = getattr(entry, name, None)
        if work is not None:
            carry_over(work, by)
