"""What hands reach for every day: the next pours, the bottles in use, the orders on their way."""

from dataclasses import dataclass
from datetime import date

from inventory.models import Bottle, PurchaseOrder
from pricing.bench.mixing_sheets import left_to_do
from pricing.models import Commission, CommissionLine
from studio.models import Studio

Status = Commission.Status
FEW_POURS, FEW_BOTTLES, FEW_ORDERS = 3, 6, 3
TO_POUR = (Status.ACCEPTED, Status.IN_WORK)


@dataclass(frozen=True)
class NextPour:
    """A line of accepted work and how many of its pieces have yet to be poured."""

    line: CommissionLine
    count: int


@dataclass(frozen=True)
class AtHand:
    """What is done next of each of the three acts, the likeliest first."""

    pours: tuple[NextPour, ...]
    bottles: tuple[Bottle, ...]
    orders: tuple[PurchaseOrder, ...]


def at_hand(studio: Studio) -> AtHand:
    """Return the `AtHand` of a studio, in a fixed number of queries."""
    bottles = studio.bottles.in_use().select_related("material").order_by("-changed_at", "-pk")
    orders = studio.purchase_orders.awaited().select_related("supplier")
    return AtHand(
        pours=tuple(next_pours(studio)[:FEW_POURS]),
        bottles=tuple(bottles[:FEW_BOTTLES]),
        orders=tuple(orders[:FEW_ORDERS]),
    )


def next_pours(studio: Studio) -> list[NextPour]:
    """Return what accepted work has yet to be poured, what is wanted first on top."""
    lines = CommissionLine.objects.filter(
        commission__studio=studio, commission__status__in=TO_POUR
    ).select_related("commission__customer", "surface")
    to_pour, _ = left_to_do(lines)
    rows = [NextPour(line, to_pour[line.pk]) for line in lines if to_pour[line.pk]]
    return sorted(rows, key=_due_first)


def _due_first(job: NextPour) -> tuple[date, int, int, int]:
    line = job.line
    wanted_on = line.commission.wanted_on or date.max
    return wanted_on, line.commission.number, line.position, line.pk
