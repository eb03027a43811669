"""Proof that a count's lines are what their entries in the ledger say."""

from collections.abc import Iterator

from django.db.models import Count, F, Q

from inventory.models import Movement, ShelfCountLine
from inventory.stock.books import Finding
from studio.amounts import Minus, Total
from studio.models import Studio

WEIGHED = Q(entry__movements__kind=Movement.Kind.WEIGH_IN)


def lines_agree_with_entries(studio: Studio | None) -> Iterator[Finding]:
    """A counted line's entry weighs in its bottle alone, by what was found less what was expected;
    without an entry both are the same."""
    rows = ShelfCountLine.objects.exclude(counted=None)
    if studio is not None:
        rows = rows.filter(count__studio=studio)
    own = Q(entry__movements__bottle=F("bottle"))
    rows = rows.select_related("count__studio", "bottle").annotate(
        difference=Minus("counted", "expected"),
        moved=Total("entry__movements__quantity", filter=WEIGHED & own),
        strays=Count(
            "entry__movements",
            filter=~Q(entry__movements__kind=Movement.Kind.RESPREAD) & ~(WEIGHED & own),
        ),
    )
    wrong = ~Q(moved=F("difference")) | Q(strays__gt=0) | ~Q(bottle__studio=F("count__studio"))
    wrong |= Q(entry__isnull=False) & ~Q(entry__studio=F("count__studio"))
    for line in rows.filter(wrong).order_by("pk"):
        yield Finding(
            "counts",
            line.count.studio.name,
            f"{line.bottle.code} of shelf count {line.count.number}",
            f"it was found to hold {line.counted} where {line.expected} was expected, and its "
            "entry does not say the same.",
        )


def finished_counts_are_whole(studio: Studio | None) -> Iterator[Finding]:
    """No line of a finished count waits."""
    rows = ShelfCountLine.objects.waiting().filter(count__status="finished")
    if studio is not None:
        rows = rows.filter(count__studio=studio)
    for line in rows.select_related("count__studio", "bottle").order_by("pk"):
        yield Finding(
            "counts",
            line.count.studio.name,
            f"{line.bottle.code} of shelf count {line.count.number}",
            "its count is finished, and it was neither weighed nor left out.",
        )


CHECKS = [lines_agree_with_entries, finished_counts_are_whole]
