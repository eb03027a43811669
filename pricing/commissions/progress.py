"""The status of a commission: each step is a dated event, most of them taken by an act."""

from collections.abc import Iterable

from django.contrib.auth.models import User
from django.db.models import Q

from pricing.commissions.commission_holds import renew_holds
from pricing.commissions.owing import account
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


def lock_work(
    *, pours: Iterable[int] = (), commissions: Iterable[int | None] = (), sets: Iterable[int] = ()
) -> None:
    """Lock, by their keys, what an act on pieces changes, before anything else that it locks.

    Those are the commissions and the pours that the pieces came of, for sets those of their pieces
    and the commissions they are made for. Every act locks these first, each kind by its keys, then
    numbers, then stock, so nobody waits in a ring; whoever has a piece's pour and commission may
    change what the piece has cost.
    """
    poured = Pour.objects.filter(Q(pk__in=pours) | Q(pieces__piece_set__in=sets)).order_by()
    keys = dict(poured.values_list("pk", "line__commission"))
    made_for = PieceSet.objects.filter(pk__in=sets).order_by()
    owners = {*keys.values(), *commissions, *made_for.values_list("line__commission", flat=True)}
    for model, chosen in ((Commission, owners), (Pour, set(keys))):
        rows = model.objects.filter(pk__in=chosen - {None}).order_by("pk")
        list(rows.select_for_update().values_list("pk"))


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
    reached = WORK.index(_status_reached(commission))
    now = WORK.index(commission.status)
    if (reached < now) if backwards else (reached > now):
        steps = [WORK[reached]] if backwards else WORK[now + 1 : reached + 1]
        for step in steps:
            record(commission, step, by, note)
    renew_holds(commission)


def money_moved(commission: Commission, by: User | None, *, note: str) -> None:
    """Move a delivered commission on to paid once nothing is owed, and back when something is."""
    commission = Commission.objects.select_for_update().get(pk=commission.pk)
    owed = account(commission).owed > 0
    if commission.status == Status.DELIVERED and not owed:
        record(commission, Status.PAID, by, note)
    elif commission.status == Status.PAID and owed:
        record(commission, Status.DELIVERED, by, note)


def _status_reached(commission: Commission) -> str:
    lines = list(commission.lines.all())
    sets = PieceSet.objects.packed().filter(line__commission=commission)
    packed: dict[int | None, int] = {}
    sold: dict[int | None, int] = {}
    for line_id, is_sold in sets.with_sold().values_list("line", "is_sold"):
        packed[line_id] = packed.get(line_id, 0) + 1
        sold[line_id] = sold.get(line_id, 0) + is_sold
    if all(sold.get(line.pk, 0) >= line.to_pack for line in lines):
        return Status.DELIVERED if account(commission).owed > 0 else Status.PAID
    if all(packed.get(line.pk, 0) >= line.to_pack for line in lines):
        return Status.READY
    if packed or Pour.objects.standing().filter(line__commission=commission).exists():
        return Status.IN_WORK
    return Status.ACCEPTED
