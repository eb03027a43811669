"""How pieces came out: judged once dry and again once coated, corrected, taken back."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import Max
from django.utils import timezone

from inventory.stock.shelf import local_day
from inventory.words import listed
from pricing.bench.pictures import add_pictures
from pricing.commissions.progress import keep_up, lock_work
from pricing.costing.keeping import keep_piece_costs
from pricing.errors import JudgementRefused
from pricing.models import FinishedPiece, Judgement, Picture, Pour, Topcoating
from pricing.models.judgement import LEAST, MOST
from studio.pictures import Prepared

State, Verdict = FinishedPiece.State, FinishedPiece.Verdict
DRY, COATED = Judgement.Stage.DRY, Judgement.Stage.COATED


@dataclass(frozen=True)
class Seen:
    """What was seen of one piece, by its number within its pour.

    ``verdict`` is one of `FinishedPiece.Verdict`; empty takes back what was judged before.
    ``faults`` are codes of `Judgement.Fault`, ``cells`` and ``composition`` ratings from 1 to 5.
    """

    piece: int
    verdict: str
    faults: Sequence[str] = ()
    cells: int | None = None
    composition: int | None = None
    note: str = ""
    pictures: Sequence[Prepared] = ()


@transaction.atomic
def judge_pieces(
    *,
    pour: Pour,
    by: User | None,
    seen: Collection[Seen],
    stage: str = "",
    judged_at: datetime | None = None,
) -> Pour:
    """Keep how pieces of a pour came out, in place of what was judged of them at that stage before.

    ``stage`` is the paint or, once there is a topcoat, that; what is not said is the latest. A
    failed piece costs nothing itself from that day on: the others carry it, or it is lost. One that
    is in a set cannot fail, and one that was wiped stays failed.

    Raises `JudgementRefused`, and then nothing is kept.
    """
    lock_work(pours=[pour.pk])
    pour = Pour.objects.get(pk=pour.pk)
    if not Pour.objects.standing().filter(pk=pour.pk).exists():
        raise JudgementRefused(f"{pour} was undone, so there is nothing to judge.")
    coat = latest_coat(pour)
    stage = stage or (COATED if coat else DRY)
    if stage == COATED and coat is None:
        raise JudgementRefused(f"{pour} has no topcoat yet. Judge its paint, or log the topcoat.")
    judged_at = _checked_moment(pour, coat if stage == COATED else None, judged_at)
    pieces = _named(pour, seen)
    before = _judgements(pour)
    day = _day(pour, judged_at, before)
    for one in seen:
        piece = pieces[one.piece]
        _check(piece, one, stage, before)
        row = before.get((piece.pk, stage))
        if one.verdict:
            row = row or Judgement(piece=piece, stage=stage)
            row.coat = coat if stage == COATED else None
            _write(row, one, judged_at, by)
        elif row:
            row.delete()
        if one.pictures:
            kind = Picture.Kind.FAULT if one.verdict == Verdict.FAILED else Picture.Kind.RESULT
            add_pictures(thing=piece, by=by, pictures=one.pictures, kind=kind)
    if settle(pour, pieces.values()):
        keep_up(pour.line, by, note=f"{pour} judged")
        keep_piece_costs(pour, day)
    return pour


def latest_coat(pour: Pour) -> Topcoating | None:
    """Return the topcoat over a pour that stands and was poured last, or None."""
    return pour.topcoatings.standing().order_by("-coated_at", "-pk").first()


def settle(pour: Pour, pieces: Iterable[FinishedPiece]) -> bool:
    """Let pieces be as they are judged; return whether one has failed, or is good after all.

    It writes too what the pour and its topcoats count of them. The caller has locked the pour.
    """
    judged = _judgements(pour)
    changed = False
    for piece in pieces:
        dry, coated = (judged.get((piece.pk, stage)) for stage in (DRY, COATED))
        last = coated or dry
        state = State.FAILED if last and last.verdict == Verdict.FAILED else State.GOOD
        spoiled_by = last.coat if last and state == State.FAILED else None
        changed |= state != piece.state
        piece.state, piece.spoiled_by = state, spoiled_by
        piece.verdict = last.verdict if last else ""
        piece.save(update_fields=["state", "spoiled_by", "verdict"])
    _count(pour)
    return changed


def _count(pour: Pour) -> None:
    rows = list(pour.pieces.values_list("state", "spoiled_by", "verdict"))
    pour.good_count = sum(state == State.GOOD or spoiled is not None for state, spoiled, _ in rows)
    pour.judged_count = sum(bool(verdict) for *_, verdict in rows)
    pour.save(update_fields=["good_count", "judged_count"])
    for coat in pour.topcoatings.standing():
        coat.spoiled_count = sum(spoiled == coat.pk for _, spoiled, _ in rows)
        coat.save(update_fields=["spoiled_count"])


def _judgements(pour: Pour) -> dict[tuple[int, str], Judgement]:
    rows = Judgement.objects.filter(piece__pour=pour).select_related("coat")
    return {(row.piece_id, row.stage): row for row in rows}


def _named(pour: Pour, seen: Collection[Seen]) -> dict[int, FinishedPiece]:
    numbers = [one.piece for one in seen]
    rows = pour.pieces.filter(number__in=numbers).select_related("piece_set", "pour")
    pieces = {piece.number: piece for piece in rows}
    if not seen or len(pieces) != len(numbers):
        raise JudgementRefused(f"Say how pieces 1 to {pour.count} of {pour} came out, each once.")
    return pieces


def _check(
    piece: FinishedPiece, one: Seen, stage: str, before: Mapping[tuple[int, str], Judgement]
) -> None:
    if one.verdict and one.verdict not in Verdict.values:
        raise JudgementRefused("A piece is good, sellable as second, or failed.")
    unknown = [code for code in one.faults if code not in Judgement.Fault.values]
    if unknown:
        raise JudgementRefused(f"There is no fault called {listed(unknown)}. Say it in the note.")
    if any(rating and not LEAST <= rating <= MOST for rating in (one.cells, one.composition)):
        raise JudgementRefused(f"Ratings go from {LEAST} to {MOST}. Leave out what you cannot say.")
    dry, coated = (before.get((piece.pk, each)) for each in (DRY, COATED))
    if stage == COATED and one.verdict and dry and dry.verdict == Verdict.FAILED:
        raise JudgementRefused(f"{piece} had failed before it was coated. Correct that first.")
    if stage == DRY and coated and one.verdict == Verdict.FAILED:
        raise JudgementRefused(
            f"{piece} is judged with its topcoat already. Judge the coated piece, or take that "
            "judgement back first."
        )
    left = one.verdict or (dry.verdict if stage == COATED and dry else "")
    if piece.recovery_id and left != Verdict.FAILED:
        raise JudgementRefused(
            f"{piece} was wiped and its surface is back on the shelf, so it stays failed. Undo "
            "that recovery first."
        )
    if one.verdict == Verdict.FAILED and piece.piece_set:
        raise JudgementRefused(f"{piece} is in {piece.piece_set.label}. {_way_out(piece)}")


def _way_out(piece: FinishedPiece) -> str:
    """Say what to do before a piece in a set can fail."""
    held = piece.piece_set
    assert held is not None
    if held.written_off_at:
        return "That set is written off, and the piece with it: nothing is left to judge."
    if held.sale_lines.filter(is_live=True).exists():
        return "That set is sold: refund the sale, then unpack the set, and judge it then."
    if out := held.consigned.filter(outcome="out").first():
        return f"That set is out on {out.consignment}: take it back, unpack it, and judge it then."
    return "Unpack the set first, and judge it then."


def _checked_moment(pour: Pour, coat: Topcoating | None, moment: datetime | None) -> datetime:
    now = timezone.now()
    since = coat.coated_at if coat else pour.poured_at
    if moment is None:
        return max(now, since)
    if moment > now:
        raise JudgementRefused("Pieces are judged once they are seen. Choose a time that has come.")
    if moment < since:
        what = "coated" if coat else "poured"
        raise JudgementRefused(f"{pour} was not {what} yet then. Choose a later time.")
    return moment


def _day(pour: Pour, judged_at: datetime, before: Mapping[tuple[int, str], Judgement]) -> date:
    """Return the day on which it counts: no earlier than what is on hand of the pour changed last.

    So a day that was told keeps its pieces.
    """
    moments = [judged_at, *(row.judged_at for row in before.values())]
    last: date | None = pour.changes.aggregate(last=Max("day"))["last"]
    day: date = local_day(pour.studio, max(moments))
    return max(day, last) if last else day


def _write(row: Judgement, one: Seen, judged_at: datetime, by: User | None) -> None:
    row.verdict, row.note = one.verdict, one.note
    row.faults = " ".join(dict.fromkeys(one.faults))
    row.cells, row.composition = one.cells, one.composition
    row.judged_at, row.by = judged_at, by
    row.save()
