"""When each step can be: jobs put on the studio's days one after the other, as early as they fit.

The serial schedule generation scheme for projects with scarce resources: by priority, every batch
takes the earliest days on which its steps, their waits, the working hours and the racks allow it,
and nothing placed before it is moved.

References
----------
J. E. Kelley, "The critical-path method: resources planning and scheduling", in J. F. Muth and
G. L. Thompson (eds.), *Industrial Scheduling* (1963), 347-365; R. Kolisch, "Serial and parallel
resource-constrained project scheduling methods revisited", European Journal of Operational
Research 90 (1996), 320-333.
"""

from collections import Counter, defaultdict
from collections.abc import Hashable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from math import ceil

from pricing.calendar.timing.batch import Job, PieceBatch, WorkStep
from pricing.calendar.timing.errors import TimingError
from pricing.calendar.timing.week import WorkingWeek
from studio.money import ZERO

DAY = timedelta(days=1)
# Beyond this nothing is promised.
MOST_DAYS = 3 * 366


@dataclass(frozen=True)
class PlacedStep:
    """A step on its days: most begin and end on one; a step longer than any day takes several.

    ``minutes`` are the hands-on minutes of each of its days, [min].
    """

    step: WorkStep
    begins: date
    ends: date
    minutes: tuple[tuple[date, Decimal], ...]


@dataclass(frozen=True)
class PlacedBatch:
    """A batch with all its steps on their days, in order; ``ready_on`` the day of its last step.

    ``rack_from`` is the first day on which it takes up its places, [-] of them.
    """

    batch: PieceBatch
    steps: tuple[PlacedStep, ...]
    rack_from: date

    @property
    def ready_on(self) -> date:
        """The day of its last step."""
        return self.steps[-1].ends


@dataclass(frozen=True)
class PlacedJob:
    """A job with all its batches; ``ready_on`` is honest, ``at_best`` if no piece fails."""

    job: Job
    batches: tuple[PlacedBatch, ...]

    @property
    def ready_on(self) -> date:
        """The day everything is done, pieces poured again included."""
        return max(one.ready_on for one in self.batches)

    @property
    def at_best(self) -> date:
        """The day everything is done if nothing has to be poured again."""
        first = [one for one in self.batches if not one.batch.is_again]
        return max(one.ready_on for one in first or self.batches)


@dataclass(frozen=True)
class ReadyDayChange:
    """A job whose ready day changes, from one day to another; None where it is not planned."""

    key: Hashable
    before: date | None
    after: date | None


def in_order(jobs: Iterable[Job]) -> list[Job]:
    """Return jobs in the order they are planned: by the day wanted, then by their order.

    Parameters
    ----------
    jobs : iterable of Job
        Each with its day or None, and its order, [-]
    """
    return sorted(jobs, key=lambda one: (one.wanted or date.max, one.order))


def schedule(jobs: Iterable[Job], week: WorkingWeek, start: date) -> dict[Hashable, PlacedJob]:
    """Return every job on the studio's days, each as early as it fits, the first wanted first.

    Planned by the day. A step takes its minutes of one working day, or of several in a row if it
    is longer than any day. A wait of 24 hours is over on the next day, at the hour at which it
    began, whoever works or not. A batch takes up its places from the day of its first step to that
    of its last. What lies on the racks already is planned first, since its last step frees them.

    Parameters
    ----------
    jobs : iterable of Job
        The work that is left, [min] and [h]
    week : WorkingWeek
        The studio's days and racks, [min] and [-]
    start : date
        The first day on which anything may be done, [-]

    Returns
    -------
    placed : dict of key to PlacedJob
        Every job with days for all its steps, in the order of planning

    Raises
    ------
    TimingError
        If a batch is larger than the racks, or fits on no day of three years.

    Examples
    --------
    Poured on a Monday, dry after a week, then 30 minutes of resin, and packed a week later:

    >>> week = WorkingWeek((Decimal(240),) * 5 + (ZERO, ZERO))
    >>> steps = (
    ...     WorkStep("pour", Decimal(60)),
    ...     WorkStep("topcoat", Decimal(30), dried_hours=Decimal(168)),
    ...     WorkStep("pack", Decimal(10), wait_hours=Decimal(168)),
    ... )
    >>> placed = schedule([Job("first", (PieceBatch(steps, pieces=4),))], week, date(2024, 1, 1))
    >>> [f"{one.begins:%a %d}" for one in placed["first"].batches[0].steps]
    ['Mon 01', 'Mon 08', 'Mon 15']

    References
    ----------
    R. Kolisch, European Journal of Operational Research 90 (1996), 320-333: the serial scheme.
    """
    return _place(in_order(jobs), _Board(week, start))


def _place(ordered: list[Job], board: "_Board") -> dict[Hashable, PlacedJob]:
    """Put jobs on the days of a board in their order, what lies on the racks before the rest."""
    batches_by_job: dict[Hashable, list[PlacedBatch | None]] = {
        job.key: [None] * len(job.batches) for job in ordered
    }
    for on_racks in (True, False):
        for job in ordered:
            places = batches_by_job[job.key]
            for number, batch in enumerate(job.batches):
                if (batch.poured_on is not None) == on_racks:
                    before = places[number - 1] if number and batch.is_again else None
                    places[number] = board.place(batch, before)
    return {
        job.key: PlacedJob(job, tuple(one for one in batches_by_job[job.key] if one is not None))
        for job in ordered
    }


def plan_last(job: Job, others: Iterable[Job], week: WorkingWeek, start: date) -> PlacedJob:
    """Return a new job planned after all others: its ready day is the earliest honest promise.

    Parameters
    ----------
    job : Job
        The new work, whatever day it is wanted, [min] and [h]
    others : iterable of Job
        The work that is promised already, [min] and [h]
    week : WorkingWeek
        The studio's days and racks, [min] and [-]
    start : date
        The first day on which anything may be done, [-]

    Raises
    ------
    TimingError
        If a batch is larger than the racks, or fits on no day of three years.
    """
    return plan_each_last([job], others, week, start)[job.key]


def plan_each_last(
    jobs: Iterable[Job], others: Iterable[Job], week: WorkingWeek, start: date
) -> dict[Hashable, PlacedJob]:
    """Return each of some new jobs planned alone after all others, as `plan_last` does for one.

    Parameters
    ----------
    jobs, others : iterable of Job
        The new work, and the work that is promised already, [min] and [h]
    week : WorkingWeek
        The studio's days and racks, [min] and [-]
    start : date
        The first day on which anything may be done, [-]

    Raises
    ------
    TimingError
        If a batch is larger than the racks, or fits on no day of three years.
    """
    ordered = in_order(others)
    board = _Board(week, start)
    _place(ordered, board)
    by_key = {}
    for job in jobs:
        last = Job(job.key, job.batches, None, 1 + max((one.order for one in ordered), default=0))
        if any(batch.poured_on is not None for batch in job.batches):  # it lies there already
            by_key[job.key] = schedule([*ordered, last], week, start)[job.key]
        else:
            by_key |= _place([last], board.copy())
    return by_key


def moves(
    before: dict[Hashable, PlacedJob], after: dict[Hashable, PlacedJob]
) -> tuple[ReadyDayChange, ...]:
    """Return the jobs whose ready day differs between two schedules, in the order of the second.

    Parameters
    ----------
    before, after : dict of key to PlacedJob
        Two schedules, [-]
    """
    changes = []
    for key in [*after, *(one for one in before if one not in after)]:
        was = before[key].ready_on if key in before else None
        now = after[key].ready_on if key in after else None
        if was != now:
            changes.append(ReadyDayChange(key, was, now))
    return tuple(changes)


class _Board:
    """The studio's days as they fill up: minutes and rack places used so far."""

    def __init__(self, week: WorkingWeek, start: date) -> None:
        self.week, self.start = week, start
        self.used: defaultdict[date, Decimal] = defaultdict(Decimal)
        self.racks: Counter[date] = Counter()

    def copy(self) -> "_Board":
        """Return a copy of the board, so that a trial leaves this one as it is."""
        other = _Board(self.week, self.start)
        other.used, other.racks = self.used.copy(), self.racks.copy()
        return other

    def place(self, batch: PieceBatch, before: PlacedBatch | None) -> PlacedBatch:
        """Return the batch on the earliest days on which all of it fits, and mark them used."""
        if batch.poured_on is not None:
            placed = self._chain(batch, self.start)
        else:
            placed = self._first_on_racks(batch, before)
        for one in placed.steps:
            for day, minutes in one.minutes:
                self.used[day] += minutes
        for day in _days(placed.rack_from, placed.ready_on):
            self.racks[day] += batch.rack_places
        return placed

    def _first_on_racks(self, batch: PieceBatch, before: PlacedBatch | None) -> PlacedBatch:
        if batch.rack_places > self.week.rack_places:
            raise TimingError(
                f"{batch.rack_places} places are needed to dry a batch, and there are "
                f"{self.week.rack_places}. Pour it in smaller rounds."
            )
        first = self.start
        if before is not None:
            seen_from = before.batch.poured_on or before.steps[before.batch.pours_at].ends
            first = max(first, seen_from + _in_days(batch.seen_hours))
        for _ in range(MOST_DAYS):
            placed = self._chain(batch, first)
            full = [
                day
                for day in _days(placed.rack_from, placed.ready_on)
                if self.racks[day] + batch.rack_places > self.week.rack_places
            ]
            if not full:
                return placed
            first = full[-1] + DAY
        raise _too_far(batch.steps[0])

    def _chain(self, batch: PieceBatch, first: date) -> PlacedBatch:
        """Put the steps on their earliest days from a day on, whatever lies on the racks."""
        poured, last = batch.poured_on, batch.last_on or batch.poured_on
        placed: list[PlacedStep] = []
        own_minutes: defaultdict[date, Decimal] = defaultdict(Decimal)
        for place, step in enumerate(batch.steps):
            day = first
            if poured is not None:
                day = max(day, poured + _in_days(step.dried_hours))
            if last is not None:
                day = max(day, last + _in_days(step.wait_hours))
            one = self._fit(step, day, own_minutes)
            for on, minutes in one.minutes:
                own_minutes[on] += minutes
            placed.append(one)
            last = one.ends
            if place == batch.pours_at:
                poured = poured or one.ends
        begun = self.start if batch.poured_on is not None else placed[0].begins
        return PlacedBatch(batch, tuple(placed), begun)

    def _fit(self, step: WorkStep, day: date, own_minutes: Mapping[date, Decimal]) -> PlacedStep:
        """Find the first day from ``day`` on with the minutes free, or days if it takes several."""
        spans = step.minutes > self.week.longest
        minutes_left, parts = step.minutes, []
        for _ in range(MOST_DAYS):
            there = self.week.minutes_on(day)
            free = there - self.used[day] - own_minutes.get(day, ZERO)
            if spans and free > 0:
                part = min(free, minutes_left)
                parts.append((day, part))
                minutes_left -= part
                if not minutes_left:
                    return PlacedStep(step, parts[0][0], day, tuple(parts))
            elif not spans and there and free >= step.minutes:
                return PlacedStep(step, day, day, ((day, step.minutes),))
            day += DAY
        raise _too_far(step)


def _too_far(step: WorkStep) -> TimingError:
    return TimingError(
        f"“{step.name}” fits on no day of the next three years. Give more hours, or fewer days off."
    )


def _in_days(hours: Decimal) -> timedelta:
    """Return the days after which so many hours have passed, at the same hour."""
    return timedelta(days=ceil(hours / 24))


def _days(first: date, last: date) -> list[date]:
    return [first + timedelta(days=number) for number in range((last - first).days + 1)]
