"""Judgements of what an archive of before brings, which told outcomes as it logged the acts."""

from pricing.bench.judging import COATED, DRY, Verdict
from pricing.models import FinishedPiece, Judgement, Topcoating
from studio.models import Studio

BATCH = 500


def judge_as_logged(studio: Studio) -> None:
    """Judge the pieces of a studio that has no judgements as their rows say; nobody works in it."""
    if Judgement.objects.filter(piece__studio=studio).exists():
        return
    standing = Topcoating.objects.standing().filter(studio=studio)
    latest = standing.select_related("by").order_by("coated_at", "pk")
    coats = {coat.pour_id: coat for coat in latest}
    rows = []
    pieces = FinishedPiece.objects.filter(studio=studio).exclude(verdict="")
    for piece in pieces.select_related("pour__by", "spoiled_by__by").order_by("pk"):
        coat = piece.spoiled_by or coats.get(piece.pour_id)
        as_paint = Verdict.GOOD if piece.spoiled_by else piece.verdict
        rows.append(_row(piece, as_paint))
        if coat and as_paint != Verdict.FAILED:
            rows.append(_row(piece, piece.verdict, coat))
    Judgement.objects.bulk_create(rows, batch_size=BATCH)


def _row(piece: FinishedPiece, verdict: str, coat: Topcoating | None = None) -> Judgement:
    return Judgement(
        piece=piece,
        stage=COATED if coat else DRY,
        coat=coat,
        verdict=verdict,
        judged_at=coat.coated_at if coat else piece.pour.poured_at,
        by=coat.by if coat else piece.pour.by,
    )
