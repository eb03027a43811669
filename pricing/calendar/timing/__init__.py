"""When work can be ready: steps by hand, waits around the clock, racks, and the studio's days.

`rounds` says how often to pour until enough is good, `schedule` puts jobs on days one after the
other, `plan_last` puts a new one last, and `moves` compares two schedules.
"""

from pricing.calendar.timing.batch import Job, PieceBatch, WorkStep
from pricing.calendar.timing.errors import TimingError
from pricing.calendar.timing.rounds import rounds
from pricing.calendar.timing.schedule import (
    PlacedBatch,
    PlacedJob,
    PlacedStep,
    ReadyDayChange,
    in_order,
    moves,
    plan_each_last,
    plan_last,
    schedule,
)
from pricing.calendar.timing.week import WorkingWeek

__all__ = [
    "Job",
    "PieceBatch",
    "PlacedBatch",
    "PlacedJob",
    "PlacedStep",
    "ReadyDayChange",
    "TimingError",
    "WorkStep",
    "WorkingWeek",
    "in_order",
    "moves",
    "plan_each_last",
    "plan_last",
    "rounds",
    "schedule",
]
