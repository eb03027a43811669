"""Commissions: open one, change its lines, move it on by hand, and see what it lacks."""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import TypedDict, Unpack

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import Max

from inventory.models import Material, Work, with_promises
from inventory.stock import holds
from pricing.commissions.commission_holds import needs_left, renew_holds
from pricing.commissions.owing import account
from pricing.commissions.payments import take_payment
from pricing.commissions.progress import record
from pricing.errors import CatalogueError, CommissionClosed, NothingOrdered
from pricing.estimating.bases import base_problem
from pricing.estimating.estimates import estimate_commission
from pricing.estimating.kits import refuse_without_ratio
from pricing.models import (
    Commission,
    CommissionEvent,
    CommissionLine,
    Customer,
    Palette,
    Pour,
    Quote,
    ResinKit,
    SavedSurface,
    Technique,
)
from pricing.readiness.asking import Act, ask
from pricing.readiness.concerns import before_handing_over
from studio.closing import ClosingRefused, hold_months
from studio.models import Studio
from studio.money import ZERO
from studio.numbering import next_number
from studio.rows import refuse_strangers

Status = Commission.Status

# What may be done by hand; quoting, accepting and pouring move a commission by themselves.
BY_HAND: dict[str, tuple[str, ...]] = {
    Status.ENQUIRY: (Status.DECLINED, Status.CANCELLED),
    Status.QUOTED: (Status.DECLINED, Status.CANCELLED),
    Status.ACCEPTED: (Status.IN_WORK, Status.CANCELLED),
    Status.IN_WORK: (Status.READY, Status.CANCELLED),
    Status.READY: (Status.DELIVERED, Status.CANCELLED),
    Status.DELIVERED: (Status.PAID,),
    Status.PAID: (),
    Status.DECLINED: (Status.ENQUIRY,),
    Status.CANCELLED: (Status.ENQUIRY,),
}
LINE_FIELDS = (
    "surface",
    "technique",
    "palette",
    "topcoat",
    "quantity",
    "pieces_each",
    "packaging",
    "base",
    "use",
    "position",
)


class CommissionChanges(TypedDict, total=False):
    """The fields of a commission that may change."""

    customer: Customer
    title: str
    due_on: date | None
    notes: str


class LineChanges(TypedDict, total=False):
    """The fields of a line that may change."""

    surface: SavedSurface
    technique: Technique
    palette: Palette
    topcoat: ResinKit | None
    quantity: int
    pieces_each: int
    packaging: Material | None
    base: str
    use: str
    like: Pour | None


@transaction.atomic
def open_commission(
    *,
    studio: Studio,
    by: User | None,
    customer: Customer,
    title: str,
    due_on: date | None = None,
    notes: str = "",
) -> Commission:
    """Open a commission as an enquiry, under the studio's next number."""
    refuse_strangers(studio, customer)
    commission = Commission.objects.create(
        studio=studio,
        number=next_number(studio, "commission"),
        customer=customer,
        title=title,
        due_on=due_on,
        notes=notes,
        work=Work.objects.create(studio=studio),
    )
    CommissionEvent.objects.create(commission=commission, status=commission.status, by=by)
    return commission


@transaction.atomic
def change_commission(
    *, commission: Commission, by: User | None, **changes: Unpack[CommissionChanges]
) -> Commission:
    """Change the title, notes, customer or wanted-by date; holds are then wanted by that day."""
    commission = _lock(commission)
    refuse_strangers(commission.studio, changes.get("customer"))
    if changes.get("customer", commission.customer) != commission.customer:
        _refuse_closed(commission)
    for name, value in changes.items():
        setattr(commission, name, value)
    commission.save(update_fields=list(changes))
    renew_holds(commission)
    return commission


@transaction.atomic
def add_line(
    *,
    commission: Commission,
    by: User | None,
    surface: SavedSurface,
    technique: Technique,
    palette: Palette,
    quantity: int = 1,
    pieces_each: int = 1,
    topcoat: ResinKit | None = None,
    packaging: Material | None = None,
    base: str = "",
    use: str = "",
    like: Pour | None = None,
) -> CommissionLine:
    """Add so many pieces or sets of one size, technique and palette.

    ``like`` is a pour that they are to come out like, ``use`` what they are for, as
    `pricing.models.Use` says it; empty where nobody has said. Raises `CatalogueError` for a
    ``base`` that the technique is not poured over.
    """
    commission = _lock_to_change(commission, by)
    last = commission.lines.aggregate(last=Max("position"))["last"]
    line = CommissionLine(commission=commission, position=0 if last is None else last + 1)
    values = (surface, technique, palette, topcoat, quantity, pieces_each, packaging, base, use)
    return _write(line, {**dict(zip(LINE_FIELDS, values, strict=False)), "like": like})


@transaction.atomic
def change_line(
    *, line: CommissionLine, by: User | None, **changes: Unpack[LineChanges]
) -> CommissionLine:
    """Change a line; a quote that is out is superseded, since it is for other work."""
    line.commission = _lock_to_change(line.commission, by)
    return _write(line, changes)


@transaction.atomic
def remove_line(*, line: CommissionLine, by: User | None) -> None:
    """Take a line out; a quote that is out is superseded. What was poured for keeps its line."""
    _lock_to_change(line.commission, by)
    if line.pours.exists() or line.sets.exists():
        raise CommissionClosed(f"“{line}” was poured for, so it stays with what it took.")
    line.delete()


@transaction.atomic
def move_on(
    *, commission: Commission, status: str, by: User | None, note: str = "", reason: str = ""
) -> Commission:
    """Take a step by hand, such as delivered, paid, declined or cancelled.

    A commission that is declined or cancelled lets its stock go and its open quotes are closed; one
    opened again is an enquiry. ``reason`` is why it is delivered before its sets are cured, see
    `readiness.asking`.
    """
    commission = _lock(commission)
    if status not in BY_HAND[commission.status]:
        allowed = " or ".join(Status(one).label.lower() for one in BY_HAND[commission.status])
        raise CommissionClosed(
            f"{commission} is {commission.get_status_display().lower()}"
            + (f"; by hand it can become {allowed}." if allowed else ", and that is the end of it.")
        )
    if status == Status.PAID and (balance := account(commission).owed) > 0:
        # Paid is not said, it is recorded; the payment moves the commission on.
        take_payment(commission=commission, by=by, amount=balance, note=note or "Marked as paid")
        return _lock(commission)
    if status in (Status.DECLINED, Status.CANCELLED):
        _close_quotes(commission, Quote.Status.DECLINED, also=Quote.Status.ACCEPTED)
    record(commission, status, by, note)
    renew_holds(commission)
    if status == Status.DELIVERED:
        studio = commission.studio
        against = before_handing_over(commission, studio.today())
        ask(Act.HAND_OVER, against, reason, studio=studio, by=by, commission=commission)
    return commission


@dataclass(frozen=True)
class StockLine:
    """One material a commission needs, in the material's own unit.

    ``needed`` is what is to be mixed and used, ``held_for_others`` how much of what is on hand
    other work counts on, ``missing`` what must be bought, ``on_order`` what is coming.
    """

    material: Material
    needed: Decimal
    on_hand: Decimal
    held_for_others: Decimal
    on_order: Decimal

    @property
    def available(self) -> Decimal:
        """On hand and not held for others."""
        return self.on_hand - self.held_for_others

    @property
    def missing(self) -> Decimal:
        """What is needed beyond what is available."""
        return max(self.needed - self.available, ZERO)


@dataclass(frozen=True)
class StockCheck:
    """Every material of a commission beside what is there for it, what is short first."""

    lines: tuple[StockLine, ...]

    @property
    def short(self) -> tuple[StockLine, ...]:
        """The lines with something missing."""
        return tuple(line for line in self.lines if line.missing)


def stock_check(
    commission: Commission, needs: Mapping[Material, Decimal] | None = None
) -> StockCheck:
    """Compare what a commission needs with the shelf; before acceptance and after.

    ``needs`` ({material: quantity}) is worked out when left out: the estimate of a commission that
    is not accepted, else what is left to do.
    """
    if needs is None:
        needs = needs_now(commission)
    quantities = {
        material.pk: quantity for material, quantity in needs.items() if material.is_stocked
    }
    materials = with_promises(Material.objects.all()).in_bulk(quantities)
    others: defaultdict[int, Decimal] = defaultdict(Decimal)
    for hold, covered in holds.coverage(commission.studio, list(materials.values())).items():
        if hold.work_id != commission.work_id:
            others[hold.material_id] += covered
    lines = [
        StockLine(
            material=material,
            needed=quantities[key],
            on_hand=material.on_hand,
            held_for_others=others[key],
            on_order=material.on_order,
        )
        for key, material in materials.items()
    ]
    return StockCheck(tuple(sorted(lines, key=lambda one: (not one.missing, one.material.name))))


def needs_now(commission: Commission) -> dict[Material, Decimal]:
    """Return {material: quantity} still to be mixed or used for a commission."""
    if commission.status in (Status.ENQUIRY, Status.QUOTED):
        estimated = estimate_commission(commission)
        return {material: need.to_mix for material, need in estimated.needs.items()}
    return needs_left(commission)


def _lock(commission: Commission) -> Commission:
    return Commission.objects.select_for_update().get(pk=commission.pk)


def _refuse_closed(commission: Commission) -> None:
    """Refuse to let money of a month that is closed stand under another customer's name."""
    last = hold_months(commission.studio_id).closed_up_to
    if last is None:
        return
    money = commission.payments.filter(booked_on__lte=last)
    if money.exists() or commission.invoices.filter(issued_on__lte=last).exists():
        raise ClosingRefused(
            f"Money of {commission} stands in a month that is closed, so its customer stays. Open "
            "a new commission for the other customer."
        )


def _lock_to_change(commission: Commission, by: User | None) -> Commission:
    """Lock a commission whose lines are about to change, and withdraw what was offered."""
    commission = _lock(commission)
    if commission.status not in (Status.ENQUIRY, Status.QUOTED):
        status = commission.get_status_display().lower()
        raise CommissionClosed(f"{commission} is {status}, so its pieces stay as they are.")
    _close_quotes(commission, Quote.Status.SUPERSEDED)
    record(commission, Status.ENQUIRY, by, "Pieces changed")
    return commission


def _close_quotes(commission: Commission, status: str, also: str | None = None) -> None:
    commission.quotes.filter(status=Quote.Status.DRAFT).delete()
    commission.quotes.filter(status__in=[*Quote.OPEN, also]).update(status=status)


def _write(line: CommissionLine, changes: Mapping[str, object]) -> CommissionLine:
    changes = dict(changes)
    if "like" in changes:
        like = changes.pop("like")
        assert like is None or isinstance(like, Pour)
        refuse_strangers(line.commission.studio, like)
        line.like_pour = like.number if like else None
    for name, value in changes.items():
        setattr(line, name, value)
    refuse_strangers(
        line.commission.studio,
        line.surface,
        line.technique,
        line.palette,
        line.topcoat,
        line.packaging,
    )
    if not 1 <= line.quantity <= 500 or not 1 <= line.pieces_each <= 24:
        raise NothingOrdered("Order 1 to 500 of a line, of 1 to 24 pieces each.")
    if problem := base_problem(line.technique, line.base):
        raise CatalogueError(problem)
    refuse_without_ratio(line.topcoat)
    line.save()
    return line
