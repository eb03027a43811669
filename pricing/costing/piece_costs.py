"""What each finished piece and set really cost, from the movements of the ledger.

A pour's cost is what its entry took from the shelf (less what it brought back) and the work in it,
and so is a topcoat's. Pieces that failed cost nothing themselves: the pieces of the same pour that
lived carry it all. Where nothing of a pour lived, the good pieces of the same commission's line
carry it, and where there is no such piece it is lost, and shown as such.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields
from decimal import ROUND_HALF_UP, Decimal

from django.db.models import QuerySet

from inventory.models import Movement
from inventory.stock.costing import apportion
from pricing.models import FinishedPiece, PieceSet, Pour, Topcoating
from studio.amounts import Total
from studio.models import Studio
from studio.money import VALUE_PLACES, ZERO

# By the entry of an act: what it took from the shelf, and whether it was undone.
Taken = dict[int | None, tuple[Decimal, bool]]


@dataclass(frozen=True)
class Spent:
    """Materials, labour and overhead, [currency], and minutes of work, [min]."""

    materials: Decimal = ZERO
    labour: Decimal = ZERO
    overhead: Decimal = ZERO
    minutes: Decimal = ZERO

    def __add__(self, other: "Spent") -> "Spent":
        return Spent(*(getattr(self, one.name) + getattr(other, one.name) for one in fields(self)))

    @property
    def total(self) -> Decimal:
        """Materials, labour and overhead, [currency]."""
        return self.materials + self.labour + self.overhead

    def shared(self, count: int) -> "list[Spent]":
        """Split into ``count`` equal parts that add up exactly, at six places."""
        equal = [Decimal(1)] * count
        columns = [apportion(getattr(self, one.name), equal) for one in fields(self)]
        return [Spent(*parts) for parts in zip(*columns, strict=True)]


NOTHING = Spent()


@dataclass(frozen=True)
class CostBook:
    """Where the cost of a studio's pours, topcoats and packaging is now.

    ``by_piece`` has the good pieces, ``by_set`` every packed set with its pieces, ``lost`` what no
    piece carries: pours of which nothing lived, packaging of sets taken apart.
    """

    by_piece: dict[int, Spent]
    by_set: dict[int, Spent]
    loose: Spent
    lost: Spent


def cost_book(studio: Studio) -> CostBook:
    """Work out the cost of every piece and set of a studio, in five queries."""
    pieces = list(FinishedPiece.objects.filter(studio=studio).order_by("pour", "number"))
    pours = {pour.pk: pour for pour in Pour.objects.filter(studio=studio)}
    coats = Topcoating.objects.filter(studio=studio)
    sets = list(PieceSet.objects.filter(studio=studio))
    taken = _taken(Movement.objects.filter(studio=studio))

    spent = {pk: _spent(pour, taken) for pk, pour in pours.items()}
    for coat in coats:
        spent[coat.pour_id] += _spent(coat, taken)
    by_piece, lost = _by_piece(pours, spent, pieces)

    by_set: dict[int, Spent] = {}
    for one in sets:
        packing = _spent(one, taken)
        if one.unpacked_at:
            lost += packing
        else:
            by_set[one.pk] = packing
    loose = NOTHING
    for piece in pieces:
        if piece.pk in by_piece:
            if piece.piece_set_id in by_set:
                by_set[piece.piece_set_id] += by_piece[piece.pk]
            else:
                loose += by_piece[piece.pk]
    return CostBook(by_piece, by_set, loose, lost)


def cost_of_pour(pour: Pour) -> Spent:
    """Return what one pour and the topcoats over it took, all pieces together, in two queries."""
    coats = list(pour.topcoatings.all())
    entries = [pour.entry_id, *(coat.entry_id for coat in coats)]
    taken = _taken(Movement.objects.filter(entry__in=entries))
    return sum((_spent(coat, taken) for coat in coats), _spent(pour, taken))


def _by_piece(
    pours: Mapping[int, Pour], spent: Mapping[int, Spent], pieces: Iterable[FinishedPiece]
) -> tuple[dict[int, Spent], Spent]:
    """Return the cost of each good piece, and what none of them carries."""
    good: defaultdict[int, list[int]] = defaultdict(list)
    of_line: defaultdict[int | None, list[int]] = defaultdict(list)
    for piece in pieces:
        if piece.state == FinishedPiece.State.GOOD:
            good[piece.pour_id].append(piece.pk)
            if pours[piece.pour_id].line_id:
                of_line[pours[piece.pour_id].line_id].append(piece.pk)
    by_piece: defaultdict[int, Spent] = defaultdict(Spent)
    lost = NOTHING
    for pour_id, cost in spent.items():
        carriers = good[pour_id] or of_line[pours[pour_id].line_id]
        if not carriers:
            lost += cost
            continue
        for key, part in zip(carriers, cost.shared(len(carriers)), strict=True):
            by_piece[key] += part
    return dict(by_piece), lost


def _spent(act: Pour | Topcoating | PieceSet, taken: Taken) -> Spent:
    """Return what one pour, topcoat or packing took; nothing but zeros when it was undone."""
    materials, undone = taken.get(act.entry_id, (ZERO, False))
    minutes = ZERO if undone else act.minutes
    return Spent(
        materials=materials,
        labour=_for_minutes(minutes, act.labour_rate),
        overhead=_for_minutes(minutes, act.overhead_rate),
        minutes=minutes,
    )


def _for_minutes(minutes: Decimal, rate: Decimal) -> Decimal:
    return (minutes * rate / 60).quantize(VALUE_PLACES, ROUND_HALF_UP)


def _taken(movements: QuerySet[Movement]) -> Taken:
    """Return {entry: (value it took from the shelf, whether it was undone)}, in one query."""
    sums = (
        movements.order_by()
        .values("entry", "entry__reverses", "entry__reversed_by")
        .annotate(value_taken=Total("value"))
    )
    taken: Taken = {}
    for row in sums:
        if row["entry__reversed_by"]:
            taken[row["entry"]] = (ZERO, True)
        elif not row["entry__reverses"]:
            taken[row["entry"]] = (-row["value_taken"], False)
    return taken
