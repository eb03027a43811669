"""When work can be ready: steps by hand, waits around the clock, racks, and the studio's days.

`rounds` says how often to pour until enough is good, `schedule` puts jobs on days one after the
other, `promise` puts a new one last, and `moves` compares two schedules.
"""

from pricing.timing.batch import Batch, Job, Step
from pricing.timing.errors import TimingError
from pricing.timing.rounds import rounds
from pricing.timing.schedule import (
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
from pricing.timing.week import WorkingWeek

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
