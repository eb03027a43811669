"""Pours and topcoats of which is said at once how they came out, so that a test need not wait."""

from pricing.bench.judging import COATED, DRY, Seen, judge_pieces
from pricing.bench.pours import log_pour
from tests.factories import going_on


def judge(pour, good, at=None, stage=DRY, by=None):
    """Judge the first so many pieces of a pour that have not failed as good, the others failed."""
    there = pour.pieces.filter(state="good", piece_set=None).order_by("number")
    numbers = there.values_list("number", flat=True)
    seen = [
        Seen(number, "good" if place < good else "failed") for place, number in enumerate(numbers)
    ]
    return judge_pieces(pour=pour, by=by, seen=seen, stage=stage, judged_at=at or pour.poured_at)


def pour_judged(*, good_count, **told):
    """Log a pour whose last pieces failed, as was seen at once."""
    pour = log_pour(**told)
    judge(pour, good_count, by=told.get("by"))
    pour.refresh_from_db()
    return pour


def coat_judged(*, spoiled_count=0, **told):
    """Log a topcoat that spoiled the last of the pieces, as was seen at once."""
    coat = going_on.log_topcoat(**told)
    there = coat.pour.pieces.filter(state="good", piece_set=None).count()
    judge(coat.pour, there - spoiled_count, at=coat.coated_at, stage=COATED, by=told.get("by"))
    coat.refresh_from_db()
    return coat
