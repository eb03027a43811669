"""Work that cannot be ready by the day it is promised or wanted, told before it is too late."""

from dataclasses import dataclass
from datetime import date

from django.db.models import F
from django.db.models.functions import Coalesce
from django.urls import reverse

from inventory.buying.alerts import Kind, WorkAlert
from inventory.words import day
from pricing.calendar import timing
from pricing.calendar.schedule import Desk, PlannedWork
from pricing.models import Commission
from studio.errors import StudioError, in_words
from studio.models import Studio

# So many enquiries and open quotes are looked at, what is wanted first before the rest.
MOST_OPEN = 50
LATE = Kind("Late", "bad")
OPEN = (Commission.Status.ENQUIRY, Commission.Status.QUOTED)


@dataclass(frozen=True)
class Late:
    """A commission that is ready only after a day: the one promised, or else wanted."""

    work: PlannedWork

    @property
    def commission(self) -> Commission:
        """What is late."""
        return self.work.commission

    @property
    def is_asked(self) -> bool:
        """Whether it is an enquiry or an open quote, so that another day can still be agreed."""
        return self.commission.status in OPEN

    @property
    def wanted_on(self) -> date:
        """The day promised, or else wanted."""
        wanted = self.commission.wanted_on
        assert wanted is not None  # else it would be late for nothing
        return wanted

    @property
    def sentence(self) -> str:
        """What is the matter, the commission's name left to the page."""
        what = "promised" if self.commission.promised_on else "wanted"
        soonest = "at the earliest" if self.is_asked else "as planned"
        return (
            f"It cannot be ready by {day(self.wanted_on)}, the day {what}: "
            f"{day(self.work.ready_on)} {soonest}."
        )


def late_works(studio: Studio) -> list[Late]:
    """Return the `Late` of accepted work, and of enquiries and open quotes, soonest wanted first.

    An enquiry is planned after all accepted work, as `calendar.what_if` does. A number of queries
    that does not grow; of enquiries no more than `MOST_OPEN`. None where no plan can be made.
    """
    asked = studio.commissions.filter(status__in=OPEN).select_related("customer", "studio")
    wanted = asked.annotate(on=Coalesce("promised_on", "due_on")).exclude(on=None)
    rows = list(wanted.order_by(F("on").asc(), "number")[:MOST_OPEN])
    desk = Desk(studio, *rows)
    jobs = [job for job in desk.jobs if job.key in desk.accepted]
    new = [job for job in desk.jobs if job.key not in desk.accepted]
    try:
        works = list(desk.plan(jobs).works)
        with in_words(timing.TimingError):
            placed = timing.promises(new, jobs, desk.week, studio.today())
    except StudioError:
        return []
    works += [desk.work(key, job) for key, job in placed.items() if job.batches]
    found = [Late(one) for one in works if one.is_late]
    return sorted(found, key=lambda one: (one.wanted_on, one.commission.number))


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


def late_of(work: PlannedWork | None) -> Late | None:
    """Return the `Late` of a commission's `PlannedWork`, or None when it is in time."""
    return Late(work) if work is not None and work.is_late else None
