"""What came to hand and left it before that was noted, as far as dated rows tell.

It is for what an archive of before brings. What things had cost on the days between is not kept:
they count at what they cost by now, and sets taken apart as if they had never been packed.
"""

from collections import defaultdict
from collections.abc import Iterator
from datetime import date
from typing import Any

from inventory.stock.shelf import local_day
from pricing.costing.on_hand import NONE, OnHand, change_of
from pricing.models import ConsignedSet, FinishedChange, FinishedPiece, PieceSet, SaleLine
from studio.models import Studio

State = FinishedPiece.State
# What a change is of, and its day, by the names of the columns.
Key = tuple[str, int, date]


def note_all(studio: Studio) -> None:
    """Note all that is and was on hand in a studio that has nothing noted; nobody works in it.

    The changes of each thing add up to what is on hand.
    """
    sums: defaultdict[Key, OnHand] = defaultdict(lambda: NONE)
    first: dict[int, date] = {}  # of the last piece in each set
    for key, more in _pieces(studio, first):
        sums[key] = _plus(sums[key], more)
    for key, more in _sets(studio, first):
        sums[key] = _plus(sums[key], more)
    FinishedChange.objects.bulk_create(
        [
            change_of(studio.pk, of, key, day, one)
            for (of, key, day), one in sums.items()
            if one != NONE
        ],
        batch_size=500,
    )


def _pieces(studio: Studio, first: dict[int, date]) -> Iterator[tuple[Key, OnHand]]:
    pieces = FinishedPiece.objects.filter(studio=studio, pour__entry__reversed_by=None)
    for piece in pieces.select_related("pour__entry", "piece_set", "spoiled_by__entry").order_by(
        "pk"
    ):
        day = piece.pour.entry.booked_on
        one = OnHand(1, piece.spent.total)
        if piece.state == State.GOOD or piece.spoiled_by:
            yield ("pour_id", piece.pour_id, day), one
        if piece.spoiled_by:
            day = max(day, piece.spoiled_by.entry.booked_on)
            yield ("pour_id", piece.pour_id, day), NONE - one
        if piece.piece_set:
            day = max(day, piece.piece_set.made_on)
            first[piece.piece_set.pk] = max(day, first.get(piece.piece_set.pk, day))
            yield ("pour_id", piece.pour_id, day), NONE - one


def _sets(studio: Studio, first: dict[int, date]) -> Iterator[tuple[Key, OnHand]]:
    lost = ConsignedSet.objects.filter(piece_set__studio=studio, outcome="lost")
    gone_on = dict(lost.values_list("piece_set", "settled_on"))
    sold: defaultdict[int, list[Any]] = defaultdict(list)
    for line in SaleLine.objects.filter(sale__studio=studio).select_related("sale").order_by("pk"):
        sold[line.piece_set_id].append(line.sale)
    for one in PieceSet.objects.filter(studio=studio, unpacked_at=None).order_by("pk"):
        here, day = OnHand(1, one.spent.total), first.get(one.pk, one.made_on)
        yield ("piece_set_id", one.pk, day), here
        for sale in sold[one.pk]:
            yield ("piece_set_id", one.pk, max(day, sale.booked_on)), NONE - here
            if sale.refund_booked_on:
                day = max(day, sale.refund_booked_on)
                yield ("piece_set_id", one.pk, day), here
        if one.written_off_at:
            refunded = day if sold[one.pk] else local_day(studio, one.written_off_at)
            off = gone_on.get(one.pk) or refunded
            yield ("piece_set_id", one.pk, max(day, off)), NONE - here


def _plus(one: OnHand, other: OnHand) -> OnHand:
    return OnHand(one.count + other.count, one.cost + other.cost)
