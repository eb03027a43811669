"""What pieces and sets have cost, written by the act that changes it; the only writer of costs.

Pieces that failed cost nothing themselves: the pieces of the same pour that came out well carry it
all, with its topcoats. Where none of a pour did, the good pieces of the same commission's line
carry it, and where there is no such piece it is lost, and posted as such. A test tile is not sold:
what it took is carried by the good pieces of the commission's other lines, and by itself only while
there are none. A set costs its pieces and its packing; one that was taken apart, its packing.

So an act changes what the pieces of its pour have cost, and at most those of the other pours of the
line, or of the commission where that has a test tile; what was sold or lost before keeps its
postings, and the difference is one of its own day.
"""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.db.models import QuerySet

from inventory.stock.shelf import local_day
from pricing.costing.on_hand import note
from pricing.costing.piece_costs import Act, entry_uses, sum_of
from pricing.models import CommissionLine, FinishedPiece, PieceSet, Posting, Pour, Topcoating
from pricing.models.cost import COLUMNS, COST, NOTHING, ActualCost
from studio.amounts import Total
from studio.closing import booked_day, hold_months
from studio.models import Studio

Kind = Posting.Kind
AS_LOST = (Kind.AT_SHOPS, Kind.WRITTEN_OFF)


def keep_piece_costs(pour: Pour, on: date) -> None:
    """Write what the pieces of a pour cost now, after an act of the day ``on`` that changed it.

    The pieces of all pours that share their cost go along, see `_sharing`, and the sets they are
    in. The caller has locked the pour and the commission of its line, and locks nothing after this.
    """
    pours = _sharing(pour)
    sets = _keep_pieces(pour.studio, pours, on)
    keep_set_costs(sets, on)
    note(pour.studio_id, on, pours=pours.values_list("pk", flat=True), sets=sets)


def keep_set_costs(keys: Collection[int], on: date) -> None:
    """Write what sets cost now, by their keys, after an act of the day ``on`` that changed it.

    Of one that is sold or written off, what came later is posted on that day.
    """
    if changed := _keep_sets(PieceSet.objects.filter(pk__in=keys), lock=True) if keys else []:
        _post_later({one.pk: one.spent for one in changed}, on)


def post_losses(sets: Iterable[PieceSet], kind: str, day: date, currency: str) -> None:
    """Post what sets have cost as lost on a day, by one of `Posting.OF_SETS`."""
    post(
        _posting(one.studio_id, kind, day, currency, one.spent, piece_set_id=one.pk)
        for one in sets
        if one.spent or kind in AS_LOST  # what comes later then has something to add to
    )


def post(postings: Iterable[Posting]) -> None:
    """Write postings, each booked on its day or, where that is closed, on the first open one."""
    rows = list(postings)
    if not rows:
        return
    studio = hold_months(rows[0].studio_id)
    for row in rows:
        row.day = booked_day(studio, row.day)
    Posting.objects.bulk_create(rows)


def keep_all_costs(studio: Studio) -> None:
    """Write what everything in a studio costs in which nobody works; of what is sold, post nothing.

    Pours that nothing carries are lost on the day of their last act.
    """
    _keep_pieces(studio, Pour.objects.filter(studio=studio), None)
    _keep_sets(PieceSet.objects.filter(studio=studio), lock=False)


def _sharing(pour: Pour) -> QuerySet[Pour]:
    """Return the pours of the same line; of a commission with a test tile those of all lines."""
    if pour.line_id is None:
        return Pour.objects.filter(pk=pour.pk)
    lines = CommissionLine.objects.filter(commission__lines=pour.line_id)
    beside = dict(lines.order_by().values_list("pk", "is_test"))
    shared = list(beside) if any(beside.values()) else [pour.line_id]
    return Pour.objects.filter(line__in=shared)


@dataclass(frozen=True)
class _Taken:
    """What a pour took with its topcoats, and when the last of that was."""

    cost: ActualCost
    ended: datetime


def _keep_pieces(studio: Studio, pours: QuerySet[Pour], on: date | None) -> set[int]:
    """Write what the pieces of pours carry; return the sets that it changes.

    The pours are all that share their cost.
    """
    rows = {one.pk: one for one in pours.select_related("line").order_by("pk")}
    taken = _taken(pours, rows)
    pieces = FinishedPiece.objects.filter(pour__in=pours).order_by("pour", "number")
    by_piece, lost = _carried(rows, taken, pieces)
    changed = []
    for piece in pieces:
        cost = by_piece.get(piece.pk, NOTHING)
        if piece.spent != cost:
            piece.spent = cost
            changed.append(piece)
    FinishedPiece.objects.bulk_update(changed, COLUMNS)
    _post_pours(studio, pours, {key: taken[key] for key in lost}, on)
    return {piece.piece_set_id for piece in changed if piece.piece_set_id}


def _taken(pours: QuerySet[Pour], rows: Mapping[int, Pour]) -> dict[int, _Taken]:
    coats: defaultdict[int, list[Topcoating]] = defaultdict(list)
    for coat in Topcoating.objects.filter(pour__in=pours):
        coats[coat.pour_id].append(coat)
    acts: list[Act] = [*rows.values(), *(coat for its in coats.values() for coat in its)]
    uses = entry_uses(acts)
    taken = {}
    for key, pour in rows.items():
        later = [coat.coated_at for coat in coats[key] if sum_of([coat], uses) != NOTHING]
        taken[key] = _Taken(sum_of([pour, *coats[key]], uses), max([pour.poured_at, *later]))
    return taken


def _carried(
    pours: Mapping[int, Pour], taken: Mapping[int, _Taken], pieces: Iterable[FinishedPiece]
) -> tuple[dict[int, ActualCost], list[int]]:
    """Return the cost of each good piece, and the pours whose cost none of them carries."""
    good: defaultdict[int, list[int]] = defaultdict(list)
    of_line: defaultdict[int | None, list[int]] = defaultdict(list)
    ordered: defaultdict[int, list[int]] = defaultdict(list)
    for piece in pieces:
        if piece.state == FinishedPiece.State.GOOD:
            good[piece.pour_id].append(piece.pk)
            if line := pours[piece.pour_id].line:
                of_line[line.pk].append(piece.pk)
                if not line.is_test:
                    ordered[line.commission_id].append(piece.pk)
    by_piece: defaultdict[int, ActualCost] = defaultdict(ActualCost)
    lost = []
    for key, pour in pours.items():
        line = pour.line
        bought = ordered[line.commission_id] if line and line.is_test else []
        if carriers := bought or good[key] or of_line[pour.line_id]:
            shares = taken[key].cost.shared(len(carriers))
            for carrier, part in zip(carriers, shares, strict=True):
                by_piece[carrier] += part
        elif taken[key].cost != NOTHING:
            lost.append(key)
    return dict(by_piece), lost


def _keep_sets(sets: QuerySet[PieceSet], *, lock: bool) -> list[PieceSet]:
    """Write what sets cost; return those that it changes."""
    rows = list((sets.select_for_update(of=("self",)) if lock else sets).order_by("pk"))
    pieces = _sums(FinishedPiece.objects.filter(piece_set__in=sets), ["piece_set"], COLUMNS)
    uses = entry_uses(rows)
    changed = []
    for one in rows:
        cost = sum_of([one], uses) + pieces.get((one.pk,), NOTHING)
        if one.spent != cost:
            one.spent = cost
            changed.append(one)
    PieceSet.objects.bulk_update(changed, COLUMNS)
    return changed


def _post_pours(
    studio: Studio, pours: QuerySet[Pour], lost: Mapping[int, _Taken], on: date | None
) -> None:
    """Post what is lost of pours that nothing carries, and take back what is carried after all."""
    posted: dict[int, tuple[str, ActualCost]] = {}
    rows = Posting.objects.filter(pour__in=pours)
    for (key, currency), cost in _sums(rows, ["pour", "currency"], COST).items():
        if cost != NOTHING:
            posted[key] = (currency, cost)
    new = []
    for key in {**lost, **posted}:
        currency, before = posted.get(key, (studio.currency, NOTHING))
        now = lost[key].cost if key in lost else NOTHING
        if now != before:
            day = on or local_day(studio, lost[key].ended)
            new.append(_posting(studio.pk, Kind.POURS, day, currency, now - before, pour_id=key))
    post(new)


def _post_later(spent: Mapping[int, ActualCost], on: date) -> None:
    """Post by how much sets that are sold or lost have cost more, or less, than was posted."""
    of_line = Posting.objects.filter(line__piece_set__in=spent, line__is_live=True)
    of_set = Posting.objects.filter(piece_set__in=spent, kind__in=AS_LOST)
    new = []
    names = ["studio", "currency", "line__piece_set", "line"]
    for (studio, currency, key, line), before in _sums(of_line, names, COST).items():
        if more := spent[key] - before:
            new.append(_posting(studio, Kind.LATE, on, currency, more, line_id=line))
    names = ["studio", "currency", "piece_set", "kind"]
    for (studio, currency, key, kind), before in _sums(of_set, names, COST).items():
        if more := spent[key] - before:
            new.append(_posting(studio, kind, on, currency, more, piece_set_id=key))
    post(new)


def _posting(
    studio: int, kind: str, day: date, currency: str, cost: ActualCost, **of_what: int
) -> Posting:
    amounts = vars(cost)
    return Posting(studio_id=studio, kind=kind, day=day, currency=currency, **of_what, **amounts)


def _sums(
    rows: QuerySet[Any], names: Sequence[str], columns: Sequence[str]
) -> dict[Any, ActualCost]:
    """Return the sums of costs over rows, by the values of some fields."""
    totals = {f"sum_{column}": Total(column) for column in columns}
    sums = rows.order_by().values_list(*names).annotate(**totals)
    return {found[: len(names)]: ActualCost(*found[len(names) :]) for found in sums}
