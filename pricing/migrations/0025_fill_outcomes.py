from django.db import migrations

MOST = 500


def fill(apps, schema_editor):
    """Keep what was said of pieces as pours and topcoats were logged as judgements made at once."""
    piece_of, judgement, pour_of, coat_of = (
        apps.get_model("pricing", name)
        for name in ("FinishedPiece", "Judgement", "Pour", "Topcoating")
    )
    coats = {}
    standing = coat_of.objects.filter(entry__reversed_by=None)
    for coat in standing.order_by("coated_at", "pk").iterator():
        coats[coat.pour_id] = coat
    rows, pieces = [], []
    known = piece_of.objects.exclude(state="undone").select_related("pour", "spoiled_by")
    for piece in known.order_by("pk").iterator():
        coat = piece.spoiled_by or coats.get(piece.pour_id)
        is_good = piece.state == "good"
        as_paint = is_good or piece.spoiled_by is not None
        rows.append(_row(judgement, piece, "dry", as_paint, piece.pour))
        if coat and as_paint:
            rows.append(_row(judgement, piece, "coated", is_good, piece.pour, coat))
        piece.verdict = "good" if is_good else "failed"
        pieces.append(piece)
    judgement.objects.bulk_create(rows, batch_size=MOST)
    piece_of.objects.bulk_update(pieces, ["verdict"], batch_size=MOST)
    for pour in pour_of.objects.filter(entry__reversed_by=None).iterator():
        pour_of.objects.filter(pk=pour.pk).update(judged_count=pour.count)


def _row(judgement, piece, stage, is_good, pour, coat=None):
    act = coat or pour
    return judgement(
        piece=piece,
        stage=stage,
        coat=coat,
        verdict="good" if is_good else "failed",
        judged_at=act.coated_at if coat else act.poured_at,
        by_id=act.by_id,
    )


class Migration(migrations.Migration):

    dependencies = [("pricing", "0024_outcomes")]

    operations = [migrations.RunPython(fill, migrations.RunPython.noop)]
