"""What was promised to each work at the end of a past day, and what of it was there."""

from collections import defaultdict
from datetime import date
from decimal import Decimal

from django.db.models import Q

from inventory.errors import NotKnownThen
from inventory.models import Hold, HoldChange
from inventory.stock.promised import Promise, PromisedWork, in_order, work_of
from inventory.stock.shelf import month_ends
from studio.dates import in_full
from studio.models import Studio
from studio.money import ZERO
from studio.periods import Period


def promised_on(studio: Studio, day: date) -> list[PromisedWork]:
    """Return every `PromisedWork` of the end of a past day, first needed first, in three queries.

    Holds are as they were then, and what was on hand is shared out first promised first served.
    What was on order by then is not kept. Raises `NotKnownThen` for a day of which no changes of
    holds were kept.
    """
    since = studio.days_kept_from
    if since and day < since:
        raise NotKnownThen(
            f"What was promised is known from {in_full(since)} on. Ask for that day or a later one."
        )
    left: defaultdict[int, Decimal] = defaultdict(lambda: ZERO)
    left.update((pk, one.quantity) for pk, one in month_ends.on_hand(studio, day).items())
    works = defaultdict(list)
    for hold in _holds(studio, day):
        covered = min(max(left[hold.material_id], ZERO), hold.outstanding)
        left[hold.material_id] -= covered
        if hold.outstanding:
            works[hold.work_id].append(Promise(hold, covered, None, None))
    return in_order(work_of(pk, promises) for pk, promises in works.items())


def _holds(studio: Studio, day: date) -> list[Hold]:
    """Return the holds that promised something at the end of a day, each as it was then."""
    end = Period(last=day).of_moments("at", studio.zone)
    still_open = Q(hold__released_at=None) | Q(hold__released_at__gte=end["at__lt"])
    changes = HoldChange.objects.filter(still_open, studio=studio, **end)
    found: dict[int, Hold] = {}
    for change in changes.select_related("hold__material").order_by("pk"):
        if change.hold_id not in found:
            found[change.hold_id] = change.hold
            change.hold.quantity = change.hold.used = ZERO
        hold = found[change.hold_id]
        hold.quantity += change.quantity
        hold.used += change.used
        hold.label, hold.needed_by = change.label, change.needed_by
    return sorted(found.values(), key=lambda hold: (hold.created_at, hold.pk))
