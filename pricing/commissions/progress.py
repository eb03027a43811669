"""How far a commission has come: each step a dated event, most of them taken by the acts."""

from django.contrib.auth.models import User

from pricing.commissions.owing import account
from pricing.commissions.promises import renew_promises
from pricing.models import Commission, CommissionEvent, CommissionLine, PieceSet, Pour

Status = Commission.Status

# From acceptance on, in order.
WORK: tuple[str, ...] = (
    Status.ACCEPTED,
    Status.IN_WORK,
    Status.READY,
    Status.DELIVERED,
    Status.PAID,
)


def record(commission: Commission, status: str, by: User | None, note: str = "") -> None:
    """Put a commission at a status and note when and by whom; nothing when it is there already."""
    if commission.status == status:
        return
    commission.status = status
    commission.save(update_fields=["status"])
    CommissionEvent.objects.create(commission=commission, status=status, by=by, note=note)


def lock_commission(line: CommissionLine | None) -> None:
    """Lock the commission of a line, if there is one, before anything else an act locks.

    Every act on a commission locks it first, then numbers, then stock, so nobody waits in a ring.
    """
    if line is not None:
        Commission.objects.select_for_update().get(pk=line.commission_id)


def keep_up(
    line_or_commission: CommissionLine | Commission | None,
    by: User | None,
    *,
    backwards: bool = False,
    note: str = "",
) -> None:
    """Move an accepted commission to where its pours, sets and sales have brought it.

    An act moves it forwards only, so that a step taken by hand is not taken back; undoing an act
    (``backwards``) moves it back only. What is promised to it shrinks and grows with the work left.
    """
    if line_or_commission is None:
        return
    if isinstance(line_or_commission, CommissionLine):
        commission = line_or_commission.commission
    else:
        commission = line_or_commission
    commission = Commission.objects.select_for_update().get(pk=commission.pk)
    if commission.status not in WORK:
        return
    reached = WORK.index(_reached(commission))
    now = WORK.index(commission.status)
    if (reached < now) if backwards else (reached > now):
        steps = [WORK[reached]] if backwards else WORK[now + 1 : reached + 1]
        for step in steps:
            record(commission, step, by, note)
    renew_promises(commission)


def money_moved(commission: Commission, by: User | None, *, note: str) -> None:
    """Move a delivered commission on to paid once nothing is owed, and back when something is."""
    commission = Commission.objects.select_for_update().get(pk=commission.pk)
    owed = account(commission).owed > 0
    if commission.status == Status.DELIVERED and not owed:
        record(commission, Status.PAID, by, note)
    elif commission.status == Status.PAID and owed:
        record(commission, Status.DELIVERED, by, note)


def _reached(commission: Commission) -> str:
    lines = list(commission.lines.all())
    sets = PieceSet.objects.packed().filter(line__commission=commission)
    packed: dict[int | None, int] = {}
    sold: dict[int | None, int] = {}
    for line_id, is_sold in sets.with_sold().values_list("line", "is_sold"):
        packed[line_id] = packed.get(line_id, 0) + 1
        sold[line_id] = sold.get(line_id, 0) + is_sold
    if all(sold.get(line.pk, 0) >= line.quantity for line in lines):
        return Status.DELIVERED if account(commission).owed > 0 else Status.PAID
    if all(packed.get(line.pk, 0) >= line.quantity for line in lines):
        return Status.READY
    if packed or Pour.objects.standing().filter(line__commission=commission).exists():
        return Status.IN_WORK
    return Status.ACCEPTED
