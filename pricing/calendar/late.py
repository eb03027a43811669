"""Work that cannot be ready by the day it is promised or wanted, told before it is too late."""

from dataclasses import dataclass
from datetime import date

from django.db.models import F
from django.db.models.functions import Coalesce
from django.urls import reverse

from inventory.buying.alerts import Kind, WorkAlert
from pricing.calendar import timing
from pricing.calendar.schedule import Desk, PlannedWork
from pricing.models import Commission
from pricing.readiness.packed import packed_of
from pricing.readiness.standing import Standing
from studio.dates import in_full as day
from studio.errors import StudioError, in_words
from studio.models import Studio

# So many enquiries and open quotes are looked at, what is wanted first before the rest.
MOST_OPEN = 50
LATE = Kind("Late", "bad")
OPEN = (Commission.Status.ENQUIRY, Commission.Status.QUOTED)


@dataclass(frozen=True)
class LateWork:
    """A commission that can be handed over only after a day: the one promised, or else wanted.

    ``work`` is what is left to make, ``packed`` where stands what is packed of it and cured last;
    None where there is none.
    """

    commission: Commission
    work: PlannedWork | None = None
    packed: Standing | None = None

    @property
    def is_asked(self) -> bool:
        """Whether it is an enquiry or an open quote, so that another day can still be agreed."""
        return self.commission.status in OPEN

    @property
    def wanted_on(self) -> date:
        """The day promised, or else wanted."""
        day_due = self.commission.wanted_on
        assert day_due is not None  # else it would be late for nothing
        return day_due

    @property
    def hand_over_on(self) -> date | None:
        """The day from which all of it can be handed over; None where nobody knows."""
        if self.packed and self.packed.not_known:
            return None
        days = [self.work.ready_on] if self.work else []
        return max([*days, self.packed.planned_on] if self.packed else days)

    @property
    def page(self) -> str:
        """The name of the page that says more: on which another day is promised, or its own."""
        return "commission-promise" if self.work else "commission"

    @property
    def sentence(self) -> str:
        """The reason in words; the page itself names the commission."""
        what = "promised" if self.commission.promised_on else "wanted"
        due = f"{day(self.wanted_on)}, the day {what}"
        on = self.hand_over_on
        if on is None:
            assert self.packed is not None  # of which nobody knows
            return (
                f"Nobody knows whether what is packed is cured by {due}: {self.packed.not_known}."
            )
        if self.work and self.work.ready_on == on:
            soonest = "at the earliest" if self.is_asked else "as planned"
            return f"It cannot be ready by {due}: {day(on)} {soonest}."
        return (
            f"It cannot be handed over by {due}: what is packed is cured, and safe to use, from "
            f"{day(on)} on."
        )


def late_of(commission: Commission, work: PlannedWork | None) -> LateWork | None:
    """Return that a commission, with what is left to make of it, is late; None where it is not."""
    if commission.wanted_on is None:
        return None
    packed = {} if commission.status in OPEN else packed_of([commission])
    return _late(commission, work, packed.get(commission.pk))


def _late(
    commission: Commission, work: PlannedWork | None, packed: Standing | None
) -> LateWork | None:
    """Decide whether a commission is late, which is told wherever somebody looks."""
    wanted_on = commission.wanted_on
    if wanted_on is None:
        return None
    is_wet = packed is not None and (
        bool(packed.not_known) or packed.planned_on > max(wanted_on, commission.studio.today())
    )
    if is_wet or (work is not None and work.is_late):
        return LateWork(commission, work, packed if is_wet else None)
    return None


def late_works(studio: Studio) -> list[LateWork]:
    """Return the late ones of accepted work, enquiries and open quotes, soonest wanted first.

    An enquiry is planned after all accepted work, as `calendar.what_if` does. A number of queries
    that does not grow; of enquiries no more than `MOST_OPEN`. Where no plan can be made, only what
    is packed is told of.
    """
    open_works = studio.commissions.filter(status__in=OPEN).select_related("customer", "studio")
    dated = open_works.annotate(on=Coalesce("promised_on", "due_on")).exclude(on=None)
    rows = list(dated.order_by(F("on").asc(), "number")[:MOST_OPEN])
    desk = Desk(studio, *rows)
    works = _works(desk)
    ready = studio.commissions.filter(status=Commission.Status.READY)
    begun = [
        *(one for one in desk.commissions.values() if one.status not in OPEN),
        *ready.select_related("customer", "studio"),
    ]
    packed = packed_of(one for one in begun if one.wanted_on)
    found = (_late(one, works.get(one.pk), packed.get(one.pk)) for one in (*begun, *rows))
    late = [one for one in found if one]
    return sorted(late, key=lambda one: (one.wanted_on, one.commission.number))


def _works(desk: Desk) -> dict[int, PlannedWork]:
    """Return {commission key: what is left of it}; none where no plan can be made."""
    jobs = [job for job in desk.jobs if job.key in desk.accepted]
    new = [job for job in desk.jobs if job.key not in desk.accepted]
    try:
        works = list(desk.plan(jobs).works)
        with in_words(timing.TimingError):
            placed = timing.plan_each_last(new, jobs, desk.week, desk.studio.today())
    except StudioError:
        return {}
    works += [desk.work(key, job) for key, job in placed.items() if job.batches]
    return {one.commission.pk: one for one in works}


def late_alerts(studio: Studio) -> list[WorkAlert]:
    """Return a `WorkAlert` for all work that is late."""
    return [
        WorkAlert(
            f"{one.commission.title} for {one.commission.customer}",
            reverse(one.page, args=[one.commission.number]),
            one.sentence,
            LATE,
        )
        for one in late_works(studio)
    ]
