"""Commissions: open one, change its lines, move it on by hand."""

from collections.abc import Mapping
from datetime import date
from typing import TypedDict, Unpack

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import Max

from inventory.models import Material, Work
from pricing.commissions.commission_holds import renew_holds
from pricing.commissions.owing import account
from pricing.commissions.payments import take_payment
from pricing.commissions.progress import record
from pricing.errors import CatalogueError, CommissionClosed, NothingOrdered
from pricing.estimating.bases import base_problem
from pricing.estimating.fitting import what_fits
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
from pricing.readiness.concerns import before_handing_over, before_planning
from studio.closing import ClosingRefused, hold_months
from studio.models import Studio
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
    "is_test",
    "is_free",
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
    is_test: bool
    is_free: bool
    like: Pour | None
    reason: str


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
    is_test: bool = False,
    is_free: bool = False,
    like: Pour | None = None,
    reason: str = "",
) -> CommissionLine:
    """Add so many pieces or sets of one size, technique and palette.

    ``like`` is a pour that they are to come out like, ``use`` what they are for, as
    `pricing.models.Use` says it; empty where nobody has said. ``is_test`` makes it a test tile for
    the customer to look at: one, not packed, and in the price unless it ``is_free``. ``reason`` is
    why it is planned though it is not fit for its use, see `readiness.asking`. Raises
    `CatalogueError` for a ``base`` that the technique is not poured over, and `NothingOrdered` for
    numbers that cannot be.
    """
    commission = _lock_to_change(commission, by)
    last = commission.lines.aggregate(last=Max("position"))["last"]
    line = CommissionLine(commission=commission, position=0 if last is None else last + 1)
    values = (surface, technique, palette, topcoat, quantity, pieces_each, packaging, base, use)
    changes = dict(zip(LINE_FIELDS, (*values, is_test, is_free), strict=True))
    line = _write(line, {**changes, "like": like})
    _ask(line, by, reason)
    return line


@transaction.atomic
def change_line(
    *, line: CommissionLine, by: User | None, **changes: Unpack[LineChanges]
) -> CommissionLine:
    """Change a line; a quote that is out is superseded, since it is for other work.

    What was poured for stays a test tile, or none: its cost stands with the commission accordingly.
    Nobody is asked for a ``reason`` anew where surface, use and topcoat stay as they were.
    """
    line.commission = _lock_to_change(line.commission, by)
    reason = changes.pop("reason", "")
    before = what_fits(CommissionLine.objects.select_related("surface").get(pk=line.pk))
    line = _write(line, changes)
    if what_fits(line) != before:
        _ask(line, by, reason)
    return line


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
        told = [commission]
        ask(
            Act.HAND_OVER, against, reason, studio=studio, by=by, before=told, commission=commission
        )
    return commission


def tile_problem(
    is_test: bool, is_free: bool, quantity: int | None, packaging: Material | None
) -> tuple[str, str] | None:
    """Return (field, sentence) of what a line cannot be, or None where all is right."""
    if is_free and not is_test:
        why = "Only a test tile can be left out of the price. Mark it as one, or give a discount."
        return "is_free", why
    if is_test and quantity != 1:
        return "quantity", "A test tile is poured once for the customer to look at: order 1 of it."
    if is_test and packaging is not None:
        return "packaging", "A test tile is not packed, so choose nothing to pack it in."
    return None


def _ask(line: CommissionLine, by: User | None, reason: str) -> None:
    studio, against = line.commission.studio, before_planning(line)
    ask(Act.PLAN, against, reason, studio=studio, by=by, before=[line], line=line)


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
    if changes.get("is_test", line.is_test) != line.is_test and line.pk and line.pours.exists():
        raise CommissionClosed(f"“{line}” was poured for, so it stays what it is. Add a new line.")
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
    if wrong := tile_problem(line.is_test, line.is_free, line.quantity, line.packaging):
        raise NothingOrdered(wrong[1])
    if problem := base_problem(line.technique, line.base):
        raise CatalogueError(problem)
    refuse_without_ratio(line.topcoat)
    line.save()
    return line
