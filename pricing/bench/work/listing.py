"""What is to be done now for accepted commissions: pour, topcoat, pack, hand over."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from pricing.bench.mixing_sheets import left_to_do
from pricing.bench.work.finishing import (
    Bench,
    Coating,
    Packing,
    WorkDelivery,
    coatings,
    deliveries,
    packings,
)
from pricing.bench.work.judgings import Judging, judgings
from pricing.bench.work.pouring import Session, sessions
from pricing.bench.work_shelf import WorkShelf
from pricing.estimating.answers import LineEstimate
from pricing.estimating.estimates import estimate_lines
from pricing.models import Commission, CommissionLine
from studio.models import Studio

Status = Commission.Status
TO_MAKE = (Status.ACCEPTED, Status.IN_WORK)


@dataclass(frozen=True)
class WorkList:
    """A studio's work on one day, each kind in the order in which it is wanted."""

    day: date
    sessions: tuple[Session, ...]
    coatings: tuple[Coating, ...]
    packings: tuple[Packing, ...]
    deliveries: tuple[WorkDelivery, ...]
    judgings: tuple[Judging, ...] = ()

    @property
    def is_empty(self) -> bool:
        """Whether there is nothing to do."""
        made = self.sessions or self.coatings or self.packings or self.deliveries
        return not (made or self.judgings)


def work_list(studio: Studio) -> WorkList:
    """Return the `WorkList` of a studio today, in a fixed number of queries.

    What is due first comes first and has the shelf first. Resin waits until the paint is dry, sets
    until their pieces can be handled, and what has resin is handed over when it has cured.
    """
    day = studio.today()
    commissions = list(studio.commissions.filter(status__in=(*TO_MAKE, Status.READY)))
    lines = CommissionLine.objects.filter(commission__in=commissions, commission__studio=studio)
    lines = lines.order_by("commission__due_on", "commission__number", "position", "pk")
    to_make = lines.filter(commission__status__in=TO_MAKE).select_related("commission__customer")
    to_pour, _ = left_to_do(to_make)
    shelf = WorkShelf(studio, commissions, day)
    bench = Bench(studio, lines)
    estimates = _due_first(estimate_lines(studio, to_make, to_pour))
    return WorkList(
        day=day,
        sessions=tuple(sessions(studio, estimates, shelf)),
        coatings=tuple(coatings(studio, to_make, bench)),
        packings=tuple(packings(bench, shelf, day)),
        deliveries=tuple(deliveries(bench)),
        judgings=tuple(judgings(studio, day, bench.hand)),
    )


def _due_first(estimates: Iterable[LineEstimate]) -> list[LineEstimate]:
    """Sort by the day wanted; work without one comes last, on every database."""
    return sorted(
        estimates,
        key=lambda one: (one.line.commission.wanted_on or date.max, one.line.commission.number),
    )
