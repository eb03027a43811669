"""What is on hand of sets and of loose pieces, and every change of it on its day.

`pricing.costing.keeping` keeps what things have cost by now. Each act that makes, packs, sells,
loses or takes back, or that changes a cost, ends with `note`, which writes down by how much things
differ from what was noted of them before. So a past day is what is there now less what changed
since, and the work is as much as came and went since that day, however old the studio is.
"""

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from itertools import groupby
from operator import itemgetter
from typing import Any, Literal

from django.db.models import Count, IntegerField, Min, QuerySet, Sum, Value

from pricing.models import FinishedChange, FinishedPiece, PieceSet
from studio.amounts import Plus, Total
from studio.closing import booked_day, hold_months
from studio.models import Studio
from studio.money import ZERO

# What a change is of: the field that names it.
Of = Literal["pour", "piece_set"]
COST = ("cost_materials", "cost_labour", "cost_overhead")
SUMS = {"came_in_all": Sum("came"), "left_in_all": Sum("left"), "worth": Total("cost")}


@dataclass(frozen=True)
class OnHand:
    """So many sets or loose pieces, and what they have cost in all, [currency]."""

    count: int
    cost: Decimal

    def __sub__(self, other: "OnHand") -> "OnHand":
        return OnHand(self.count - other.count, self.cost - other.cost)


NONE = OnHand(0, ZERO)
# By the key of a pour or of a set.
Standing = dict[int, OnHand]


def note(
    studio_id: int, on: date, *, pours: Collection[int] = (), sets: Collection[int] = ()
) -> None:
    """Write down what an act of the day ``on`` changed of what is on hand, in its transaction.

    It counts on the day that such an act is booked on, and nothing changes before the day it was
    first there. ``pours`` and ``sets`` are the keys of all that it may have changed, which the
    caller has locked.
    """
    on = booked_day(hold_months(studio_id), on)
    new = [
        change_of(studio_id, f"{of}_id", key, day, more)
        for of, keys in (("pour", pours), ("piece_set", sets))
        for key, day, more in (_changes(of, keys, on) if keys else ())
    ]
    FinishedChange.objects.bulk_create(new)


def change_of(studio_id: int, of: str, key: int, day: date, more: OnHand) -> FinishedChange:
    """Return the row, not yet written, of what came on a day or, below nothing, left."""
    counts = {"came": max(more.count, 0), "left": max(-more.count, 0)}
    return FinishedChange(studio_id=studio_id, day=day, cost=more.cost, **counts, **{of: key})


def _changes(of: Any, keys: Collection[int], on: date) -> Iterator[tuple[int, date, OnHand]]:
    now = standing_now(of, **{f"{_key(of)}__in": keys})
    noted = FinishedChange.objects.filter(**{f"{of}__in": keys}).order_by().values_list(of)
    first: dict[int, date] = {}
    before: Standing = {}
    for key, day, came, left, cost in noted.annotate(Min("day"), **SUMS):
        first[key], before[key] = day, OnHand(came - left, cost)
    for key in sorted(set(keys)):
        more = now.get(key, NONE) - before.get(key, NONE)
        if more != NONE:
            yield key, max(on, first.get(key, on)), more


def standing_now(of: Of, **which: Any) -> Standing:
    """Return what is on hand now: sets by their keys, loose good pieces by their pour's."""
    return {key: OnHand(count, cost) for key, count, _, cost in _now(of).filter(**which)}


def standing_on(studio: Studio, of: Of, day: date) -> Standing:
    """Return what was on hand at the end of a past day, in two queries."""
    found = standing_now(of, studio=studio)
    since = FinishedChange.objects.filter(studio=studio, day__gt=day).exclude(**{of: None})
    sums = since.order_by().values_list(of).annotate(**SUMS)
    for key, came, left, cost in sums:
        found[key] = found.get(key, NONE) - OnHand(came - left, cost)
    return {key: one for key, one in found.items() if one.count > 0}


def _key(of: Of) -> str:
    return "pour" if of == "pour" else "pk"


def _now(of: Of) -> QuerySet[Any, Any]:
    """Return (key, count, 0, cost) of everything on hand, grouped, as the sums of changes are."""
    if of == "pour":
        pieces = FinishedPiece.objects.filter(state=FinishedPiece.State.GOOD, piece_set=None)
        sums = {"there": Count("pk"), "gone": _number(0), "worth": Total(Plus(*COST))}
        return pieces.order_by().values_list("pour").annotate(**sums)
    sets = PieceSet.objects.unsold().order_by()
    found = sets.annotate(there=_number(1), gone=_number(0), worth=Plus(*COST))
    return found.values_list("pk", "there", "gone", "worth")


def changes_that_differ(studio: Studio | None) -> Iterator[tuple[Of, int, OnHand]]:
    """Yield what is not on hand as its changes add up to: of what, its key, how far they are off.

    One statement for sets and one for pieces, so that work going on meanwhile is no finding.
    """
    ofs: tuple[Of, ...] = ("pour", "piece_set")
    for of in ofs:
        changes = FinishedChange.objects.exclude(**{of: None}).order_by().values_list(of)
        noted = _mine(changes, studio).annotate(**SUMS, side=_number(0))
        there = _mine(_now(of), studio).annotate(side=_number(1))
        yield from _off(of, noted.union(there, all=True))


def _off(of: Of, rows: Iterable[Any]) -> Iterator[tuple[Of, int, OnHand]]:
    for key, pair in groupby(sorted(rows), key=itemgetter(0)):
        sides: Mapping[int, OnHand] = {side: OnHand(n - m, cost) for _, n, m, cost, side in pair}
        if (off := sides.get(0, NONE) - sides.get(1, NONE)) != NONE:
            yield of, key, off


def _number(number: int) -> Value:
    return Value(number, output_field=IntegerField())


def _mine(rows: QuerySet[Any, Any], studio: Studio | None) -> QuerySet[Any, Any]:
    return rows.filter(studio__restoring=None) if studio is None else rows.filter(studio=studio)
