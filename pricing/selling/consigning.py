"""Consignment: sets sent to a shop, sold there, taken back or lost."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import Prefetch, QuerySet
from django.utils import timezone

from pricing.costing import on_hand
from pricing.costing.keeping import post_losses
from pricing.errors import ConsignmentRefused
from pricing.models import Channel, ConsignedSet, Consignment, PieceSet, Sale
from pricing.readiness.asking import Act, ask
from pricing.readiness.concerns import before_consigning
from pricing.selling.ready import commissions_of, locked_sets
from pricing.selling.sales import CALLED_OFF, sell
from studio.models import Studio
from studio.money import to_payable
from studio.numbering import next_number
from studio.rows import refuse_strangers

Outcome = ConsignedSet.Outcome


@transaction.atomic
def send_out(
    *,
    studio: Studio,
    by: User,
    channel: Channel,
    items: Iterable[tuple[PieceSet, Decimal]],
    sent_on: date,
    due_back_on: date | None = None,
    note: str = "",
    reason: str = "",
) -> Consignment:
    """Send sets to a shop; ``items`` are (set, price asked with tax) pairs.

    They still belong to the studio, and are not for sale anywhere else until they are settled. The
    shop's share is kept as it is agreed now. ``reason`` is why sets go out before they are cured,
    see `readiness.asking`.
    """
    items = list(items)
    refuse_strangers(studio, channel, *(piece_set for piece_set, _ in items))
    if not channel.is_consignment:
        raise ConsignmentRefused(
            f"{channel} does not sell on consignment. Say so on its own page, or choose a shop "
            "that does."
        )
    if due_back_on and due_back_on < sent_on:
        raise ConsignmentRefused("The day to settle by is before the day they are sent.")
    sets = locked_sets(studio, [piece_set for piece_set, _ in items])
    if not items or len(sets) != len(items):
        raise ConsignmentRefused("Choose at least one set to send, each once.")
    if any(price < 0 for _, price in items):
        raise ConsignmentRefused("A price cannot be below zero.")
    _refuse_not_free(sets)
    consignment = Consignment.objects.create(
        studio=studio,
        number=next_number(studio, "consignment"),
        channel=channel,
        currency=studio.currency,
        share=channel.percent_fee,
        sent_on=sent_on,
        due_back_on=due_back_on,
        note=note,
        by=by,
    )
    currency = consignment.currency
    ConsignedSet.objects.bulk_create(
        ConsignedSet(
            consignment=consignment,
            piece_set=piece_set,
            asked=to_payable(price, currency),
        )
        for piece_set, price in items
    )
    against = before_consigning(sets, sent_on)
    told = [*sets, *commissions_of(sets)]
    ask(Act.CONSIGN, against, reason, studio=studio, by=by, before=told, consignment=consignment)
    return consignment


@transaction.atomic
def report_sold(
    *,
    consignment: Consignment,
    by: User,
    items: Iterable[tuple[PieceSet, Decimal]],
    sold_on: date,
) -> Sale:
    """Record what a shop sold, as one sale of that day; returns the sale.

    ``items`` are (set, price paid with tax) pairs. The currency and the share are those agreed on
    the note; tax and what else the channel charges are as for other sales.
    """
    items = list(items)
    lines = _open_lines(consignment, [piece_set for piece_set, _ in items], sold_on)
    _settle(lines, by, Outcome.SOLD, sold_on)
    sale = sell(
        studio=consignment.studio,
        by=by,
        channel=consignment.channel,
        sold_on=sold_on,
        items=items,
        share=consignment.share,
        currency=consignment.currency,
        is_reported=True,
    )
    sold = {one.piece_set_id: one for one in sale.lines.all()}
    for line in lines:
        line.sale_line = sold[line.piece_set_id]
    ConsignedSet.objects.bulk_update(lines, ["sale_line"])
    return sale


@transaction.atomic
def take_back(
    *, consignment: Consignment, by: User, sets: Sequence[PieceSet], on: date, note: str = ""
) -> list[ConsignedSet]:
    """Take sets back from a shop; they are for sale again."""
    lines = _open_lines(consignment, sets, on)
    _settle(lines, by, Outcome.RETURNED, on, note)
    return lines


@transaction.atomic
def lost(
    *, consignment: Consignment, by: User, sets: Sequence[PieceSet], on: date, note: str = ""
) -> list[ConsignedSet]:
    """Write off sets that a shop lost or broke; their cost is lost with them.

    Where the shop pays for them they are sold: `report_sold` at what it pays.
    """
    lines = _open_lines(consignment, sets, on)
    _settle(lines, by, Outcome.LOST, on, note)
    gone = locked_sets(consignment.studio, [line.piece_set for line in lines])
    keys = [one.pk for one in gone]
    PieceSet.objects.filter(pk__in=keys).update(written_off_at=timezone.now())
    post_losses(gone, "at_shops", on, consignment.currency)
    on_hand.note(consignment.studio_id, on, sets=keys)
    return lines


@dataclass(frozen=True)
class Settlement:
    """What came of settling: the sale, if any, and how many sets came back or are lost."""

    sale: Sale | None
    returned: int
    lost: int


@transaction.atomic
def settle(
    *,
    consignment: Consignment,
    by: User,
    on: date,
    sold: Iterable[tuple[PieceSet, Decimal]] = (),
    returned: Iterable[PieceSet] = (),
    lost_sets: Iterable[PieceSet] = (),
    note: str = "",
) -> Settlement:
    """Settle several sets with a shop at once: all of it, or nothing; returns the `Settlement`.

    ``sold`` are (set, price paid) pairs, ``returned`` and ``lost_sets`` sets.
    """
    sold, returned, lost_sets = list(sold), list(returned), list(lost_sets)
    if not (sold or returned or lost_sets):
        raise ConsignmentRefused("Say of at least one set what became of it.")
    _locked_note(consignment)
    locked_sets(consignment.studio, [*(one for one, _ in sold), *returned, *lost_sets])
    sale = None
    if sold:
        sale = report_sold(consignment=consignment, by=by, items=sold, sold_on=on)
    if returned:
        take_back(consignment=consignment, by=by, sets=returned, on=on, note=note)
    if lost_sets:
        lost(consignment=consignment, by=by, sets=lost_sets, on=on, note=note)
    return Settlement(sale, len(returned), len(lost_sets))


@dataclass(frozen=True)
class ShopAccount:
    """A consignment note in figures: sets by outcome, and money of what was sold, [currency].

    ``out_asked`` is what is asked for what is still out; ``to_pay`` what the shop owes the studio
    for all it sold, its share and fees taken off.
    """

    consignment: Consignment
    counts: dict[str, int]
    out_asked: Decimal
    sold_for: Decimal
    fees: Decimal
    days_out: int | None
    is_late: bool

    @property
    def to_pay(self) -> Decimal:
        """What the shop passes on, [currency]."""
        return self.sold_for - self.fees

    @property
    def out(self) -> int:
        """How many sets are still at the shop."""
        return self.counts[Outcome.OUT]


def account(consignment: Consignment, today: date) -> ShopAccount:
    """Return the `ShopAccount` of a note whose lines are loaded; a refunded sale brings nothing."""
    lines = list(consignment.lines.all())
    counts = {one.value: 0 for one in Outcome}
    for line in lines:
        counts[line.outcome] += 1
    standing = [one.sale_line for one in lines if one.sale_line and one.sale_line.is_live]
    sales = {one.sale_id: one.sale for one in standing}
    is_out = counts[Outcome.OUT] > 0
    due = consignment.due_back_on
    return ShopAccount(
        consignment=consignment,
        counts=counts,
        out_asked=sum((one.asked for one in lines if one.outcome == Outcome.OUT), Decimal(0)),
        sold_for=sum((one.price for one in standing), Decimal(0)),
        fees=sum((sale.fees for sale in sales.values()), Decimal(0)),
        days_out=(today - consignment.sent_on).days if is_out else None,
        is_late=bool(is_out and due and due < today),
    )


def consignments_of(studio: Studio) -> QuerySet[Consignment]:
    """Return the notes of a studio with their lines, sets and sales, in two queries."""
    rows = studio.consignments.select_related("channel", "studio")
    lines = ConsignedSet.objects.select_related("piece_set", "sale_line__sale")
    return rows.prefetch_related(Prefetch("lines", lines))


def _refuse_not_free(sets: Iterable[PieceSet]) -> None:
    for piece_set in sets:
        if piece_set.unpacked_at or piece_set.written_off_at:
            raise ConsignmentRefused(f"{piece_set} is not packed any more, so it cannot be sent.")
        if piece_set.sale_lines.filter(is_live=True).exists():
            raise ConsignmentRefused(f"{piece_set} is sold already.")
        if out := piece_set.consigned.filter(outcome=Outcome.OUT).first():
            raise ConsignmentRefused(
                f"{piece_set} is out on {out.consignment} already. Take it back first."
            )
        line = piece_set.line
        if line and line.commission.status not in CALLED_OFF:
            raise ConsignmentRefused(
                f"{piece_set} was made for {line.commission}. Cancel that first if nobody wants it."
            )


def _locked_note(consignment: Consignment) -> Consignment:
    return Consignment.objects.select_for_update(of=("self",)).get(pk=consignment.pk)


def _open_lines(consignment: Consignment, sets: Sequence[PieceSet], on: date) -> list[ConsignedSet]:
    """Return the lines of sets that are still out, with the note locked before anything else."""
    note = _locked_note(consignment)
    set_ids = [one.pk for one in sets]
    lines = list(
        note.lines.select_related("piece_set").filter(piece_set__in=set_ids, outcome=Outcome.OUT)
    )
    if not set_ids or len(lines) != len(set_ids):
        open_ids = {line.piece_set_id for line in lines}
        gone = ", ".join(str(one) for one in sets if one.pk not in open_ids)
        raise ConsignmentRefused(
            f"{gone} is not out on {note} any more. Look at the note again."
            if gone
            else "Choose at least one set, each once."
        )
    if on < note.sent_on:
        raise ConsignmentRefused(f"The sets of {note} went out later, on {note.sent_on}.")
    return lines


def _settle(
    lines: Sequence[ConsignedSet], by: User, outcome: str, on: date, note: str = ""
) -> None:
    for line in lines:
        line.outcome, line.settled_on, line.settled_by = outcome, on, by
        line.note = note
    ConsignedSet.objects.bulk_update(lines, ["outcome", "settled_on", "settled_by", "note"])
