"""Sets and sales: pack pieces, unpack them, sell sets through a channel, refund a sale."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from decimal import Decimal

from django.contrib.auth.models import User
from django.db import transaction
from django.utils import timezone

from inventory.models import Material
from inventory.stock import ledger as stock
from inventory.stock.shelf import local_day
from pricing.commissions.owing import account
from pricing.commissions.payments import give_back, take_payment
from pricing.commissions.progress import keep_up, lock_work
from pricing.costing.keeping import keep_set_costs, post_losses
from pricing.costing.on_hand import note
from pricing.errors import SaleRefused, SetRefused
from pricing.models import (
    Channel,
    Commission,
    CommissionLine,
    Customer,
    FinishedPiece,
    Payment,
    PieceSet,
    Quote,
    Sale,
    SaleLine,
)
from pricing.models.cost import COLUMNS
from pricing.readiness.asking import Act, ask
from pricing.readiness.concerns import before_packing, before_selling
from pricing.selling.agreed import Priced, priced, shipping_of
from pricing.selling.booking import book_refund, book_sale
from pricing.selling.finishing import used_to_finish
from pricing.selling.kinds import booked
from pricing.selling.packing import loose_pieces, poured_for, refuse_unfitting, use_of
from pricing.selling.ready import commissions_of, locked_sets, refuse_other_days, refuse_unsaleable
from pricing.selling.terms import channel_fees, tax_rule
from studio.closing import booked_day, hold_months
from studio.dates import in_full as day
from studio.models import Studio
from studio.money import ZERO, to_payable
from studio.numbering import next_number
from studio.rows import refuse_strangers

ONE = Decimal(1)
CALLED_OFF = ("declined", "cancelled")


@transaction.atomic
def pack_set(
    *,
    studio: Studio,
    by: User,
    name: str,
    pieces: Sequence[FinishedPiece],
    line: CommissionLine | None = None,
    packaging: Material | None = None,
    also: Sequence[Material] = (),
    minutes: Decimal = ZERO,
    made_on: date | None = None,
    use: str | None = None,
    reason: str = "",
    used: Mapping[Material, Decimal] | None = None,
) -> PieceSet:
    """Pack finished pieces into a set, or one piece on its own; its packaging leaves the shelf.

    ``pieces`` are good pieces that are in no set. A set of a commission's line takes as many as the
    line says, and its packaging unless another is given. ``also`` is more packaging, one of each:
    the tissue and the card beside the box. What varnish, feet and the like take of a material is as
    the technique says, or as ``used``. ``use`` is what the set is for, as `pricing.models.Use` says
    it; left out, it is that of the line, or of the lines that its pieces were poured for.
    ``reason`` is why they are packed though something speaks against it, see `readiness.asking`.
    """
    refuse_strangers(studio, packaging, *also, *(used or {}), line and line.commission, *pieces)
    of_line = [line.commission_id] if line else []
    lock_work(pours=[piece.pour_id for piece in pieces], commissions=of_line)
    pieces = loose_pieces(studio, pieces)
    if line is not None:
        refuse_unfitting(line, pieces)
        packaging = packaging or line.packaging
    piece_set = PieceSet(
        studio=studio,
        number=next_number(studio, "set"),
        name=name or (line.description if line else str(pieces[0].pour.surface)),
        line=line,
        made_on=made_on or studio.today(),
        use=use_of(pieces, line) if use is None else use,
        minutes=minutes,
        labour_rate=studio.labour_rate,
        overhead_rate=studio.overhead_rate,
    )
    takes = used_to_finish(pieces, used) | dict.fromkeys(filter(None, (packaging, *also)), ONE)
    takes = {material: amount for material, amount in takes.items() if material.is_stocked}
    if any(takes.values()):
        piece_set.entry = stock.use(
            studio=studio,
            by=by,
            amounts=takes,
            work=line.commission.work if line else None,
            purpose=f"Set {piece_set.number}",
            why="Packed",
        )
    piece_set.save()
    FinishedPiece.objects.filter(pk__in=[piece.pk for piece in pieces]).update(piece_set=piece_set)
    keep_set_costs([piece_set.pk], piece_set.made_on)
    note(
        studio.pk,
        max(piece_set.made_on, *(local_day(studio, one.pour.poured_at) for one in pieces)),
        pours={piece.pour_id for piece in pieces},
        sets=[piece_set.pk],
    )
    keep_up(line, by)
    against = before_packing(piece_set, piece_set.made_on)
    told = {line.commission} if line else poured_for(pieces)
    ask(Act.PACK, against, reason, studio=studio, by=by, before=told, piece_set=piece_set)
    piece_set.refresh_from_db(fields=COLUMNS)
    return piece_set


@transaction.atomic
def unpack_set(
    *, piece_set: PieceSet, by: User, why: str = "", packaging_back: bool = True
) -> PieceSet:
    """Take a set that is not sold apart again; its pieces are loose and its packaging is back.

    With ``packaging_back=False`` the packaging is spoiled and its cost stays lost.
    """
    if piece_set.entry and packaging_back:
        entry, studio = piece_set.entry, piece_set.studio
        stock.reverse(studio=studio, by=by, entry=entry, why=why or "Set unpacked")
    else:
        packing_reversed(piece_set, by)
    piece_set.refresh_from_db()
    return piece_set


def packing_reversed(piece_set: PieceSet, by: User) -> None:
    """Take a set apart once its packaging is back on the shelf, or given up."""
    piece_set = locked_sets(piece_set.studio, [piece_set])[0]
    if piece_set.unpacked_at or piece_set.written_off_at:
        raise SetRefused(f"{piece_set} is not packed any more.")
    if piece_set.sale_lines.filter(is_live=True).exists():
        raise SetRefused(f"{piece_set} is sold. Refund the sale first.")
    if out := piece_set.consigned.filter(outcome="out").first():
        raise SetRefused(f"{piece_set} is out on {out.consignment}. Take it back there first.")
    pours = set(piece_set.pieces.values_list("pour", flat=True))
    piece_set.pieces.update(piece_set=None)
    piece_set.unpacked_at = timezone.now()
    piece_set.save(update_fields=["unpacked_at"])
    today = piece_set.studio.today()
    keep_set_costs([piece_set.pk], today)
    piece_set.refresh_from_db(fields=COLUMNS)
    # Its packaging is spoiled, or its packing was for nothing.
    post_losses([piece_set], "packing", today, piece_set.studio.currency)
    note(piece_set.studio_id, today, pours=pours, sets=[piece_set.pk])
    keep_up(piece_set.line, by, backwards=True, note=f"{piece_set} unpacked")


@transaction.atomic
def sell(
    *,
    studio: Studio,
    by: User,
    channel: Channel,
    sold_on: date,
    items: Iterable[tuple[PieceSet, Decimal]],
    shipping_charged: Decimal | None = None,
    shipping_paid: Decimal | None = None,
    customer: Customer | None = None,
    commission: Commission | None = None,
    pays_later: bool = False,
    how: str = Payment.How.OTHER,
    share: Decimal | None = None,
    currency: str | None = None,
    reason: str = "",
    is_reported: bool = False,
) -> Sale:
    """Sell sets together: ``items`` are (set, price with tax) pairs.

    The sale keeps the channel's fees, and its currency and tax rule: those of a commission's
    accepted quote, which its customer agreed to, else the studio's of today. Sets
    made for one commission make the sale that commission's and move it on to delivered; what has
    been handed over and is not paid for yet is taken as paid on that day, unless the customer
    ``pays_later``. Shipping of which nothing is said is what the commission's accepted quote has of
    it and earlier sales did not take. ``share`` is the channel's share of the price and
    ``currency`` the ISO 4217 code of all amounts, where others were agreed. ``reason`` is why they
    are given away before they are cured, see `readiness.asking`; nobody is asked where a shop that
    has had the sets reports what it sold (``is_reported``).
    """
    items = list(items)
    refuse_strangers(studio, channel, customer, commission, *(piece_set for piece_set, _ in items))
    sets = locked_sets(studio, [piece_set for piece_set, _ in items], commission)
    refuse_unsaleable(sets, items)
    refuse_other_days(studio, sets, sold_on)
    commission = commission or _commission_of(sets)
    quote: Quote | None = commission.accepted_quote if commission else None
    shipping = shipping_of(commission, quote, shipping_charged, shipping_paid)
    if customer is None and commission is not None:
        customer = commission.customer
    if currency is None:
        currency = commission.currency if commission else studio.currency
    tax_rate, tax_inclusive = tax_rule(studio, quote)
    sale = Sale.objects.create(
        studio=studio,
        number=next_number(studio, "sale"),
        channel=channel,
        customer=customer,
        commission=commission,
        sold_on=sold_on,
        booked_on=booked_day(hold_months(studio.pk), sold_on),
        currency=currency,
        shipping_charged=to_payable(shipping.charged, currency),
        shipping_paid=to_payable(shipping.paid, currency),
        fees=channel_fees(currency, channel, items, shipping.charged, share),
        tax_rate=tax_rate,
        tax_inclusive=tax_inclusive,
    )
    lines = SaleLine.objects.bulk_create(
        SaleLine(sale=sale, piece_set=piece_set, price=to_payable(amount, currency))
        for piece_set, amount in items
    )
    book_sale(sale, lines, {one.pk: one.spent for one in sets})
    note(studio.pk, sold_on, sets=[one.pk for one in sets])
    if commission is not None and not pays_later:
        now = account(commission)
        if (rest := min(now.handed_over - now.paid, now.owed)) > 0:
            take_payment(
                commission=commission, by=by, amount=rest, paid_on=sold_on, how=how, sale=sale
            )
    for work in commissions_of(sets, commission):
        keep_up(work, by, note=str(sale))
    if not is_reported:
        act, against = Act.HAND_OVER if commission else Act.SELL, before_selling(sets, sold_on)
        told = [*sets, *commissions_of(sets, commission)]
        ask(act, against, reason, studio=studio, by=by, before=told, sale=sale)
    return sale


@transaction.atomic
def refund(
    *,
    sale: Sale,
    by: User,
    why: str = "",
    fees_kept: Decimal = ZERO,
    returned: bool = True,
    refunded_on: date | None = None,
) -> Sale:
    """Give the customer's money back. ``fees_kept`` is what the channel does not give back.

    For a commission, what was paid of the sale is recorded as given back.

    The sets are for sale again, or written off when they do not come back (``returned=False``). The
    sale stays on its own day as it was, and the refund counts on the day it is given, today if not
    said: so each line keeps what its set was and had cost until then.
    """
    sets = [line.piece_set for line in sale.lines.select_related("piece_set")]
    sets = locked_sets(sale.studio, sets, sale.commission)
    sale = Sale.objects.select_for_update().get(pk=sale.pk)
    refunded_on = refunded_on or sale.studio.today()
    if sale.refunded_at:
        raise SaleRefused(f"{sale} is refunded already.")
    if not sale.sold_on <= refunded_on <= sale.studio.today():
        raise SaleRefused(
            f"{sale} was made on {day(sale.sold_on)}. Choose that day or a later one that has come."
        )
    if not 0 <= fees_kept <= sale.fees:
        raise SaleRefused(f"The channel kept between nothing and its fees of {sale.fees}.")
    lines = list(sale.lines.select_related("piece_set"))
    for line in lines:
        line.is_live, line.booked = False, booked(line.piece_set)
    SaleLine.objects.bulk_update(lines, ["is_live", "booked"])
    sale.refunded_at, sale.refunded_on = timezone.now(), refunded_on
    sale.refund_booked_on = booked_day(hold_months(sale.studio_id), refunded_on)
    sale.refund_note = why
    sale.fees_kept = to_payable(fees_kept, sale.currency)
    names = ("refunded_at", "refunded_on", "refund_booked_on", "refund_note", "fees_kept")
    sale.save(update_fields=names)
    book_refund(sale, lines)
    if not returned:
        post_losses(sets, "written_off", refunded_on, sale.currency)
        PieceSet.objects.filter(pk__in=[one.pk for one in sets]).update(
            written_off_at=sale.refunded_at
        )
    note(sale.studio_id, refunded_on, sets=[one.pk for one in sets])
    words = f"{sale} refunded"
    if sale.commission is not None:
        back = min(account(sale.commission).paid, sale.goods + sale.shipping_charged)
        if back > 0:
            ordered = sale.commission
            give_back(commission=ordered, by=by, amount=back, paid_on=refunded_on, note=words)
    for commission in commissions_of(sets, sale.commission):
        keep_up(commission, by, backwards=True, note=words)
    return sale


def prices_quoted(commission: Commission) -> Priced:
    """Return the unsold sets of a commission with their prices by its accepted quote, if any."""
    quote: Quote | None = commission.accepted_quote
    return [] if quote is None else priced(commission, quote)


def _commission_of(sets: Iterable[PieceSet]) -> Commission | None:
    """Return the commission all sets were made for; None for several or for one called off."""
    commissions = {piece_set.line.commission if piece_set.line else None for piece_set in sets}
    (only,) = commissions if len(commissions) == 1 else (None,)
    return None if only is None or only.status in CALLED_OFF else only
