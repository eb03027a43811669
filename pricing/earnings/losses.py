"""What was lost: stock thrown away, short or taken for nothing, pours and sets come to nothing.

With what sets sold cost, what is on hand and what is made and not sold, it is all that ever came
in, to the last digit: `pricing.books.value_is_somewhere` proves it.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db.models import Exists, OuterRef, Q, QuerySet

from inventory.models import Movement
from inventory.stock.shelf import local_day
from pricing.models import Posting
from pricing.models.cost import ActualCost
from studio.models import Studio
from studio.periods import ALWAYS, Period

Kind = Movement.Kind

# Every way in which something is lost, in the order it is told, and its name.
KINDS = {
    "pours": "Pours of which nothing came out well",
    "packing": "Packing of sets taken apart",
    "at_shops": "Sets lost or broken at shops",
    "written_off": "Sets refunded and not back",
    "thrown_away": "Stock thrown away",
    "spoiled": "Stock past its day, thrown away",
    "run_off": "Kept run-off thrown away",
    "short": "Counted or weighed short, less what was found",
    "by_hand": "Taken by hand, for no piece",
}


@dataclass(frozen=True)
class Loss:
    """One thing lost on a day, by one of `KINDS`, at what it had cost, in ``currency``."""

    kind: str
    day: date
    currency: str
    cost: ActualCost

    @property
    def name(self) -> str:
        """What it is called."""
        return KINDS[self.kind]

    @property
    def month(self) -> str:
        """Its year and month, such as “2026-03”."""
        return f"{self.day:%Y-%m}"


@dataclass(frozen=True)
class LostInAll:
    """All losses of one currency that are of one kind, or of one month."""

    label: str
    currency: str
    cost: ActualCost


def losses(studio: Studio, period: Period = ALWAYS) -> list[Loss]:
    """Return every `Loss` of a period, in three queries.

    A set is lost in the currency it was priced in, and stock in the studio's. Stock that was found
    by a count or on the scale takes from what was short, and a pour that is carried after all from
    the pours lost, so that a row may be below nothing. So does what is undone, on the day that the
    undoing is booked: what was reported of a day stays.
    """
    return [*_made(studio, period), *_stock(studio, period)]


def in_all(rows: Iterable[Loss], by: str = "kind") -> list[LostInAll]:
    """Add losses up by ``kind``, in the order of `KINDS`, or by ``month``, the newest first."""
    groups: defaultdict[tuple[str, str], ActualCost] = defaultdict(ActualCost)
    for row in rows:
        groups[row.currency, getattr(row, by)] += row.cost
    some = [key for key, cost in groups.items() if cost]
    keys = sorted(some, key=lambda key: key[1], reverse=True)
    if by == "kind":
        order = list(KINDS)
        keys.sort(key=lambda key: order.index(key[1]))
    keys.sort(key=lambda key: key[0])
    return [LostInAll(KINDS.get(key[1], key[1]), key[0], groups[key]) for key in keys]


def _made(studio: Studio, period: Period) -> Iterator[Loss]:
    """Yield the pours, packings and sets that came to nothing."""
    rows = Posting.objects.filter(studio=studio, **period.of("day"))
    for one in rows.exclude(kind__in=Posting.OF_SALES):
        yield Loss(one.kind, one.day, one.currency, one.cost)


def _stock(studio: Studio, period: Period) -> Iterator[Loss]:
    """Yield what left the shelf for no piece: thrown away, short, or taken by hand."""
    moves = _for_nothing(studio)
    for move in moves.filter(**period.of("entry__booked_on")):
        cost = ActualCost(materials=-move.value)
        yield Loss(_kind_of(move), move.entry.booked_on, studio.currency, cost)
    undone = moves.exclude(entry__reversed_by=None).select_related("entry__reversed_by")
    for move in undone.filter(**period.of("entry__reversed_by__booked_on")):
        back = ActualCost(materials=move.value)
        yield Loss(_kind_of(move), move.entry.reversed_by.booked_on, studio.currency, back)


def _for_nothing(studio: Studio) -> QuerySet[Movement]:
    """Return what left for nothing, and beside it whether it was kept run-off by then."""
    until_then = Q(entry__reversed_by=None) | Q(entry__reversed_by__gt=OuterRef("entry"))
    reclaimed = Movement.objects.filter(
        until_then, bottle=OuterRef("bottle"), kind=Kind.RECLAIM, pk__lt=OuterRef("pk")
    )
    moves = Movement.objects.filter(studio=studio, entry__reverses=None)
    # What was scraped back belongs to what was taken, whoever took it.
    kinds = (Kind.WASTE, Kind.WEIGH_IN, Kind.USE, Kind.RECLAIM)
    moves = moves.filter(kind__in=kinds).exclude(value=Decimal(0))
    of_pieces = ("entry__pour", "entry__topcoating", "entry__piece_set")
    moves = moves.filter(**dict.fromkeys((f"{name}__isnull" for name in of_pieces), True))
    moves = moves.annotate(is_run_off=Exists(reclaimed))
    return moves.select_related("entry__studio", "bottle__material").order_by("pk")


def _kind_of(move: Movement) -> str:
    if move.kind == Kind.WEIGH_IN:
        return "short"
    if move.kind in (Kind.USE, Kind.RECLAIM):
        return "by_hand"
    if vars(move)["is_run_off"]:
        return "run_off"
    if (was_past := move.entry.was_past) is None:
        last, day = move.bottle.keeps_until, local_day(move.entry.studio, move.entry.happened_at)
        was_past = last is not None and last < day
    return "spoiled" if was_past else "thrown_away"
