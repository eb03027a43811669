"""When work can be ready: steps by hand, waits around the clock, racks, and the studio's days.

`rounds` says how often to pour until enough is good, `schedule` puts jobs on days one after the
other, `promise` puts a new one last, and `moves` compares two schedules.
"""

from pricing.calendar.timing.batch import Batch, Job, Step
from pricing.calendar.timing.errors import TimingError
from pricing.calendar.timing.rounds import rounds
from pricing.calendar.timing.schedule import (
    Move,
    Placed,
    PlacedBatch,
    PlacedJob,
    in_order,
    moves,
    promise,
    promises,
    schedule,
)
from pricing.calendar.timing.week import WorkingWeek

__all__ = [
    "Batch",
    "Job",
    "Move",
    "Placed",
    "PlacedBatch",
    "PlacedJob",
    "Step",
    "TimingError",
    "WorkingWeek",
    "in_order",
    "moves",
    "promise",
    "promises",
    "rounds",
    "schedule",
]
