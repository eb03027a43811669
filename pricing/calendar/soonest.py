"""The day on which pieces that nobody has ordered yet could be ready, after all accepted work."""

from datetime import date
from typing import Any

from pricing.calendar import timing
from pricing.calendar.schedule import Desk
from pricing.estimating.answers import PieceEstimate
from pricing.models import CommissionLine
from studio.errors import StudioError, in_words
from studio.models import Studio
from studio.requests import StudioRequest


def soonest_day(studio: Studio, line: CommissionLine) -> date:
    """Return the earliest honest day for a line not written down, pieces that fail included.

    It is planned last, as `earliest_promise` plans an enquiry, so that nothing promised moves.

    Raises `StudioError` in words when it cannot be planned.
    """
    desk = Desk(studio)
    new = timing.Job(key=None, batches=tuple(desk.book.to_pour(line)))
    with in_words(timing.TimingError):
        return timing.plan_last(new, desk.jobs, desk.week, studio.today()).ready_on


def planned_day(
    request: StudioRequest, asked: dict[str, Any], piece: PieceEstimate
) -> dict[str, object]:
    """Return for the planner the day on which what was asked for could be ready, or why none."""
    line = CommissionLine(
        surface=asked["surface"],
        technique=asked["technique"],
        base=piece.base,
        topcoat=asked["topcoat"],
        quantity=piece.count,
        pieces_each=1,
    )
    try:
        return {"ready_on": soonest_day(request.studio, line)}
    except StudioError as error:
        return {"no_day": str(error)}
