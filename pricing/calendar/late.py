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
from studio.dates import in_full as day
from studio.errors import StudioError, in_words
from studio.models import Studio

# So many enquiries and open quotes are looked at, what is wanted first before the rest.
MOST_OPEN = 50
LATE = Kind("Late", "bad")
OPEN = (Commission.Status.ENQUIRY, Commission.Status.QUOTED)


@dataclass(frozen=True)
class LateWork:
    """A commission that is ready only after a day: the one promised, or else wanted."""

    work: PlannedWork

    @property
    def commission(self) -> Commission:
        """The commission that is late."""
        return self.work.commission

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
    def sentence(self) -> str:
        """The reason in words; the page itself names the commission."""
        what = "promised" if self.commission.promised_on else "wanted"
        soonest = "at the earliest" if self.is_asked else "as planned"
        return (
            f"It cannot be ready by {day(self.wanted_on)}, the day {what}: "
            f"{day(self.work.ready_on)} {soonest}."
        )


def late_works(studio: Studio) -> list[LateWork]:
    """Return the late ones of accepted work, enquiries and open quotes, soonest wanted first.

    An enquiry is planned after all accepted work, as `calendar.what_if` does. A number of queries
    that does not grow; of enquiries no more than `MOST_OPEN`. None where no plan can be made.
    """
    open_works = studio.commissions.filter(status__in=OPEN).select_related("customer", "studio")
    dated = open_works.annotate(on=Coalesce("promised_on", "due_on")).exclude(on=None)
    rows = list(dated.order_by(F("on").asc(), "number")[:MOST_OPEN])
    desk = Desk(studio, *rows)
    jobs = [job for job in desk.jobs if job.key in desk.accepted]
    new = [job for job in desk.jobs if job.key not in desk.accepted]
    try:
        works = list(desk.plan(jobs).works)
        with in_words(timing.TimingError):
            placed = timing.plan_each_last(new, jobs, desk.week, studio.today())
    except StudioError:
        return []
    works += [desk.work(key, job) for key, job in placed.items() if job.batches]
    late = [LateWork(one) for one in works if one.is_late]
    return sorted(late, key=lambda one: (one.wanted_on, one.commission.number))


def late_alerts(studio: Studio) -> list[WorkAlert]:
    """Return a `WorkAlert` for all work that is late."""
    return [
        WorkAlert(
            f"{one.commission.title} for {one.commission.customer}",
            reverse("commission-promise", args=[one.commission.number]),
            one.sentence,
            LATE,
        )
        for one in late_works(studio)
    ]


def late_of(work: PlannedWork | None) -> LateWork | None:
    """Return the `LateWork` of a commission's `PlannedWork`, or None when it is in time."""
    return LateWork(work) if work is not None and work.is_late else None
