"""Where a count stands: what comes next, how far it is, what it may have missed."""

from dataclasses import dataclass

from django.db.models import Count, Q, QuerySet

from inventory.models import Bottle, ShelfCount, ShelfCountLine
from studio.models import Studio


@dataclass(frozen=True)
class Progress:
    """So many of so many bottles are done, weighed or left out."""

    done: int
    total: int
    left_out: int

    @property
    def left(self) -> int:
        return self.total - self.done


def progress(count: ShelfCount) -> Progress:
    """Return how far a count is."""
    live = Q(undone_at=None)
    return Progress(
        **count.lines.aggregate(
            done=Count("pk", filter=live & Q(at__isnull=False)),
            total=Count("pk", filter=live),
            left_out=Count("pk", filter=live & ~Q(left_out="")),
        )
    )


def next_line(count: ShelfCount, after: int = 0) -> ShelfCountLine | None:
    """Return the line to weigh next: the first that waits behind position ``after``, else the first
    of all that wait; None when nothing waits."""
    waiting = count.lines.waiting().select_related("bottle__material")
    return waiting.filter(position__gt=after).first() or waiting.first()


def open_counts(studio: Studio) -> QuerySet[ShelfCount]:
    """Return the counts that are open."""
    return studio.shelf_counts.filter(status=ShelfCount.Status.OPEN)


def on_the_walk(count: ShelfCount) -> QuerySet[Bottle]:
    """Return the bottles that belong in a count by what the books say now."""
    bottles = count.studio.bottles.on_shelf().filter(remaining__gt=0)
    if count.place:
        bottles = bottles.filter(place__iexact=count.place)
    if count.kinds:
        bottles = bottles.filter(material__kind__in=count.kinds)
    return bottles


def missed(count: ShelfCount) -> QuerySet[Bottle]:
    """Return the bottles that belong in a count and are not on it: they came since it started."""
    listed = count.lines.live().values("bottle")
    return on_the_walk(count).exclude(pk__in=listed).select_related("material")
