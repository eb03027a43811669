"""When commissions can be ready: the plan of all accepted work, and what one promise moves.

Worked out from what is stored each time, so it is never out of date; nothing of it is kept but the
day promised. The work promised or wanted first is planned first, then what was accepted first.
"""

from collections import Counter, defaultdict
from collections.abc import Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal
from itertools import pairwise
from math import ceil

from django.db.models import Min, Q, QuerySet

from pricing.calendar import timing
from pricing.calendar.work_left import WorkBook, jobs_of
from pricing.calendar.working_days import week_of
from pricing.commissions.commission_holds import HELD_IN
from pricing.models import Commission, CommissionLine, LabourStep
from studio.errors import in_words
from studio.models import Studio

DAY = timedelta(days=1)
# As `WorkBook` names a batch: by its line first.
Key = tuple[int, str, int, int]


@dataclass(frozen=True)
class PlannedStep:
    """One act by hand on one line's pieces: from a day to a day, [min] in all."""

    line: CommissionLine
    step: str
    pieces: int
    begins: date
    ends: date
    minutes: Decimal
    is_again: bool
    key: Key

    @property
    def name(self) -> str:
        """The step in words."""
        return LabourStep.Step(self.step).label


@dataclass(frozen=True)
class Wait:
    """Pieces of a line lying on the racks: “drying” or “curing” from a day until a day."""

    line: CommissionLine
    what: str
    pieces: int
    begins: date
    ends: date
    is_again: bool
    key: Key


@dataclass(frozen=True)
class PlannedWork:
    """A commission with its steps and waits in order, and the days it can be ready.

    ``ready_on`` is honest, pieces that fail included; ``at_best`` holds if none does.
    """

    commission: Commission
    steps: tuple[PlannedStep, ...]
    waits: tuple[Wait, ...]
    ready_on: date
    at_best: date

    @property
    def course(self) -> list[PlannedStep | Wait]:
        """Steps and waits as they follow each other."""
        course: list[PlannedStep | Wait] = [*self.steps, *self.waits]
        return sorted(course, key=lambda one: (one.begins, one.ends))

    @property
    def days_late(self) -> int:
        """Days after the day promised, or else wanted; none or fewer when it is in time."""
        due_on = self.commission.promised_on or self.commission.due_on
        return (self.ready_on - due_on).days if due_on else 0

    @property
    def is_late(self) -> bool:
        """Whether it is ready only after the day promised, or else wanted."""
        return self.days_late > 0

    @property
    def has_resin(self) -> bool:
        """Whether resin is still to be poured on it."""
        return any(one.step == LabourStep.Step.TOPCOAT for one in self.steps)


@dataclass(frozen=True)
class Day:
    """One day: what is done by hand, [min], what lies on the racks, [-], what becomes ready."""

    day: date
    acts: tuple[tuple[Commission, PlannedStep, Decimal], ...]
    lying: int
    ready: tuple[Commission, ...]
    minutes: Decimal


@dataclass(frozen=True)
class Plan:
    """All accepted work in the order it is planned, and why something is not."""

    works: tuple[PlannedWork, ...]
    problems: dict[Commission, str] = field(default_factory=dict)
    rack_places: int = 0
    placed: dict[Hashable, timing.PlacedJob] = field(default_factory=dict)

    def of(self, commission: Commission) -> PlannedWork | None:
        """Return what is planned for a commission, or None."""
        return next((one for one in self.works if one.commission.pk == commission.pk), None)

    def days(self) -> list[Day]:
        """Return the days on which something is done or ready, in order."""
        acts: defaultdict[date, list[tuple[Commission, PlannedStep, Decimal]]] = defaultdict(list)
        ready: defaultdict[date, list[Commission]] = defaultdict(list)
        lying: Counter[date] = Counter()
        for work in self.works:
            ready[work.ready_on].append(work.commission)
            lines = {one.line.pk: one.line for one in work.steps}
            for batch in self.placed[work.commission.pk].batches:
                for number in range((batch.ready_on - batch.rack_from).days + 1):
                    lying[batch.rack_from + number * DAY] += batch.batch.rack_places
                for placed in batch.steps:
                    for day, minutes in placed.minutes:
                        planned = _step(placed, batch, lines[_key(batch)[0]])
                        acts[day].append((work.commission, planned, minutes))
        return [
            Day(
                day=day,
                acts=tuple(acts[day]),
                lying=lying[day],
                ready=tuple(ready[day]),
                minutes=sum((one[2] for one in acts[day]), Decimal(0)),
            )
            for day in sorted({*acts, *ready})
        ]


class Desk:
    """A studio's accepted work, read once, to be planned several times over.

    ``also`` are more commissions, such as an enquiry; the job of the first is ``own`` too.
    """

    def __init__(self, studio: Studio, *also: Commission) -> None:
        rows = list(_accepted(studio))
        self.accepted: set[Hashable] = {one.pk for one in rows}
        rows += [one for one in also if one.pk not in self.accepted]
        self.studio, self.week = studio, week_of(studio)
        self.book = WorkBook(studio, rows, self.week.rack_places)
        self.commissions: dict[Hashable, Commission] = {one.pk: one for one in rows}
        self.jobs, self.problems = jobs_of(self.book, rows)
        self.own = next((one for one in self.jobs if also and one.key == also[0].pk), None)

    def plan(self, jobs: Iterable[timing.Job] | None = None) -> Plan:
        """Return the `Plan` of some jobs, of all where none are given."""
        with in_words(timing.TimingError):
            placed = timing.schedule(
                self.jobs if jobs is None else jobs, self.week, self.studio.today()
            )
        works = tuple(self.work(key, job) for key, job in placed.items())
        return Plan(works, self.problems, self.week.rack_places, placed)

    def work(self, key: Hashable, job: timing.PlacedJob) -> PlannedWork:
        """Return a placed job as the `PlannedWork` of its commission."""
        commission = self.commissions[key]
        return _work(commission, job, {one.pk: one for one in self.book.lines[commission.pk]})


def plan(studio: Studio) -> Plan:
    """Return the `Plan` of all accepted work, in a number of queries that does not grow.

    Raises `Refused` when work fits on no day for years.
    """
    return Desk(studio).plan()


def _accepted(studio: Studio) -> QuerySet[Commission]:
    """Return accepted work, what was accepted first at the front."""
    at = Min("quotes__answered_at", filter=Q(quotes__status="accepted"))
    rows = studio.commissions.filter(status__in=HELD_IN).select_related("customer", "studio")
    return rows.annotate(accepted_at=at).order_by("accepted_at", "number")


def _work(
    commission: Commission, job: timing.PlacedJob, lines: Mapping[int, CommissionLine]
) -> PlannedWork:
    steps: list[PlannedStep] = []
    waits: list[Wait] = []
    for batch in job.batches:
        line = lines[_key(batch)[0]]
        own = [_step(placed, batch, line) for placed in batch.steps]
        steps += own
        waits += _waits(batch, own, line)
    return PlannedWork(
        commission=commission,
        steps=tuple(sorted(steps, key=lambda one: one.begins)),
        waits=tuple(sorted(waits, key=lambda one: one.begins)),
        ready_on=job.ready_on,
        at_best=job.at_best,
    )


def _step(
    placed: timing.PlacedStep, batch: timing.PlacedBatch, line: CommissionLine
) -> PlannedStep:
    return PlannedStep(
        line=line,
        step=placed.step.name,
        pieces=batch.batch.pieces,
        begins=placed.begins,
        ends=placed.ends,
        minutes=placed.step.minutes,
        is_again=batch.batch.is_again,
        key=_key(batch),
    )


def _key(batch: timing.PlacedBatch) -> Key:
    key = batch.batch.key
    assert isinstance(key, tuple)
    return key


def _waits(
    batch: timing.PlacedBatch, steps: Sequence[PlannedStep], line: CommissionLine
) -> Iterator[Wait]:
    """Yield what lies drying until its topcoat or packing, and curing from the topcoat on."""
    placed, key, by_name = batch.batch, _key(batch), {one.step: one for one in steps}
    topcoat, varnish, pack = by_name.get("topcoat"), by_name.get("varnish"), by_name.get("pack")
    last = by_name.get("seal") or topcoat or varnish
    poured = by_name["pour"].ends if "pour" in by_name else placed.poured_on
    last = last or (pack if line.topcoat_id is None else None)
    if last:
        assert poured is not None  # what has no pour left to do was poured on a day
        dry_on = poured + _days(_step_named(batch, last.step).dried_hours)
        yield Wait(line, "drying", placed.pieces, poured, dry_on, placed.is_again, key)
    for wet, after in pairwise(batch.steps):
        if wet.step.name in ("prime", "seal", "varnish"):
            dry_on = wet.ends + _days(after.step.wait_hours)
            yield Wait(line, "drying", placed.pieces, wet.ends, dry_on, placed.is_again, key)
    if line.topcoat_id is not None and pack:  # a test tile is not packed: nobody waits for it
        coated = topcoat.ends if topcoat else placed.last_on
        assert coated is not None  # as before
        cured_on = coated + _days(_step_named(batch, "pack").wait_hours)
        yield Wait(line, "curing", placed.pieces, coated, cured_on, placed.is_again, key)


def _step_named(batch: timing.PlacedBatch, name: str) -> timing.WorkStep:
    """Return a placed batch's step by its name."""
    return next(one.step for one in batch.steps if one.step.name == name)


def _days(hours: Decimal) -> timedelta:
    return timedelta(days=ceil(hours / 24))
