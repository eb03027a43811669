"""What a promise would do: the earliest honest day, and what other work it moves."""

from dataclasses import dataclass, replace
from datetime import date

from pricing.calendar import timing
from pricing.calendar.schedule import Desk, PlannedWork
from pricing.commissions.promised_day import PROMISABLE
from pricing.errors import CalendarRefused
from pricing.models import Commission
from studio.errors import in_words


@dataclass(frozen=True)
class MovedWork:
    """A commission whose ready day changes, from one day to another."""

    commission: Commission
    before: date
    after: date

    @property
    def wanted(self) -> date | None:
        """The day it is promised for, or else wanted by."""
        return self.commission.promised_on or self.commission.due_on

    @property
    def is_late(self) -> bool:
        """Whether the change makes it ready too late."""
        return self.wanted is not None and self.after > self.wanted


@dataclass(frozen=True)
class WhatIf:
    """What a promise would do: when the commission itself is ready, and what else moves."""

    commission: Commission
    promised_on: date | None
    before: PlannedWork
    after: PlannedWork
    others: tuple[MovedWork, ...]

    @property
    def is_kept(self) -> bool:
        """Whether the schedule can keep the promise."""
        return self.promised_on is None or self.after.ready_on <= self.promised_on


def earliest_promise(commission: Commission) -> PlannedWork | None:
    """Return the `PlannedWork` of a commission: as it is planned, or put last if not accepted.

    None when there is nothing left to plan. Raises `StudioError` in words when it cannot be.
    """
    if commission.status not in PROMISABLE:
        return None
    desk = Desk(commission.studio, commission)
    return _earliest(desk, commission)


def what_if(commission: Commission, promised_on: date | None) -> WhatIf:
    """Return the `WhatIf` of promising a commission for a day, or of promising none.

    Raises `CalendarRefused` when there is nothing left to plan, `StudioError` when it cannot be.
    """
    desk = Desk(commission.studio, commission)
    own_before = _earliest(desk, commission) if commission.status in PROMISABLE else None
    if own_before is None or desk.own is None:
        raise CalendarRefused(f"Nothing is left to plan of {commission}.")
    before = desk.plan([job for job in desk.jobs if job.key in desk.accepted])
    own = replace(desk.own, wanted=promised_on or commission.due_on)
    after = desk.plan([own if job.key == own.key else job for job in desk.jobs])
    others = tuple(
        MovedWork(desk.commissions[one.key], one.before, one.after)
        for one in timing.moves(before.placed, after.placed)
        if one.key != own.key and one.before and one.after
    )
    own_after = after.of(commission)
    assert own_after is not None  # its job is among those planned
    return WhatIf(commission, promised_on, own_before, own_after, others)


def _earliest(desk: Desk, commission: Commission) -> PlannedWork | None:
    why = next((why for one, why in desk.problems.items() if one.pk == commission.pk), None)
    if why:
        raise CalendarRefused(why)
    if desk.own is None:
        return None
    if commission.pk in desk.accepted:
        return desk.plan().of(commission)
    others = [job for job in desk.jobs if job.key != desk.own.key]
    with in_words(timing.TimingError):
        placed = timing.plan_last(desk.own, others, desk.week, desk.studio.today())
    return desk.work(desk.own.key, placed)
