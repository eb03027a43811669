"""A count as a whole: started, finished, cancelled."""

from collections.abc import Iterable

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import Q
from django.utils import timezone

from inventory.errors import CountRefused
from inventory.models import Material, ShelfCount, ShelfCountLine
from inventory.stock.counts.reading import on_the_walk
from inventory.words import listed
from studio.dates import in_full as day
from studio.models import Studio
from studio.numbering import next_number

MOST_NAMED = 8


@transaction.atomic
def start_count(
    *, studio: Studio, by: User, place: str = "", kinds: Iterable[str] = ()
) -> ShelfCount:
    """Start a count of every bottle that holds something; returns it.

    ``place`` is where, or empty for every place; ``kinds`` are `Material.Kind`, or empty for all.
    Lines stand by place, then by code, so that a person walks along the shelf. Raises
    `CountRefused` when a bottle there is being counted already, or nothing is there.
    """
    place, kinds = place.strip(), sorted(set(kinds))
    if any(kind not in Material.Kind.values for kind in kinds):
        raise CountRefused("There is no kind of material like that. Choose one from the list.")
    number = next_number(studio, "count")  # who starts at the same time waits here
    same = Q() if not place else Q(place="") | Q(place__iexact=place)
    other = studio.shelf_counts.filter(same, status=ShelfCount.Status.OPEN).first()
    if other is not None:
        raise CountRefused(
            f"{other} of {other.scope} is open since {day(other.started_at)}. Go on with it, or "
            "finish or cancel it first."
        )
    count = ShelfCount.objects.create(
        studio=studio, number=number, place=place, kinds=kinds, started_by=by
    )
    bottles = sorted(on_the_walk(count), key=lambda one: (not one.place, one.place, one.code))
    if not bottles:
        raise CountRefused(f"There is nothing to count: no bottle of {count.scope} holds anything.")
    ShelfCountLine.objects.bulk_create(
        ShelfCountLine(count=count, bottle=bottle, position=position, place=bottle.place)
        for position, bottle in enumerate(bottles, start=1)
    )
    return count


@transaction.atomic
def finish_count(*, count: ShelfCount, by: User) -> ShelfCount:
    """Finish a count; returns it. Raises `CountRefused` while any line waits, naming them."""
    count = locked_open(count)
    waiting = list(count.lines.waiting().select_related("bottle__material"))
    if waiting:
        names = [str(line.bottle) for line in waiting[:MOST_NAMED]]
        if len(waiting) > MOST_NAMED:
            names.append(f"{len(waiting) - MOST_NAMED} more")
        verb = "is" if len(waiting) == 1 else "are"
        raise CountRefused(
            f"{listed(names)} {verb} neither weighed nor left out. Weigh what is there, and leave "
            "out the rest with a reason."
        )
    return _ended(count, by, ShelfCount.Status.FINISHED)


@transaction.atomic
def cancel_count(*, count: ShelfCount, by: User) -> ShelfCount:
    """Break a count off; returns it. What was weighed stays set: the ledger is not touched."""
    return _ended(locked_open(count), by, ShelfCount.Status.CANCELLED)


def _ended(count: ShelfCount, by: User, status: str) -> ShelfCount:
    count.status, count.ended_at, count.ended_by = status, timezone.now(), by
    count.save(update_fields=["status", "ended_at", "ended_by"])
    return count


def locked_open(count: ShelfCount) -> ShelfCount:
    """Return a count locked, or refuse one that is over. Materials are locked before it."""
    locked = ShelfCount.objects.select_for_update().get(pk=count.pk)
    if locked.ended_at is not None:
        raise CountRefused(
            f"{locked} was {locked.status} on {day(locked.ended_at)}. Start a new one."
        )
    return locked
