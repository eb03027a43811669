"""Sets and sales: pack pieces, unpack them, sell sets through a channel, refund a sale."""

from collections.abc import Iterable, Sequence
from datetime import date
from decimal import Decimal

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import Max
from django.utils import timezone

from inventory.models import Material
from inventory.stock import ledger as stock
from inventory.words import day
from pricing.commissions.owing import account
from pricing.commissions.payments import give_back, take_payment
from pricing.commissions.progress import keep_up, lock_commission
from pricing.costing import price
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
    Topcoating,
)
from pricing.selling.agreed import Priced, priced, shipping_of
from studio.models import Studio
from studio.money import ZERO, to_payable
from studio.numbering import next_number
from studio.rows import refuse_strangers

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
) -> PieceSet:
    """Pack finished pieces into a set, or one piece on its own; its packaging leaves the shelf.

    ``pieces`` are good pieces that are in no set. A set of a commission's line takes as many as the
    line says, and its packaging unless another is given. ``also`` is more packaging, one of each:
    the tissue and the card beside the box.
    """
    refuse_strangers(studio, packaging, *also, line and line.commission, *pieces)
    lock_commission(line)
    pieces = _locked_loose(studio, pieces)
    if line is not None:
        _check_line(line, pieces)
        packaging = packaging or line.packaging
    piece_set = PieceSet(
        studio=studio,
        number=next_number(studio, "set"),
        name=name or (line.description if line else str(pieces[0].pour.surface)),
        line=line,
        made_on=made_on or studio.today(),
        heat_limit_c=_lowest_heat_limit(pieces),
        minutes=minutes,
        labour_rate=studio.labour_rate,
        overhead_rate=studio.overhead_rate,
    )
    wrapping = [one for one in (packaging, *also) if one is not None and one.is_stocked]
    if wrapping:
        piece_set.entry = stock.use(
            studio=studio,
            by=by,
            amounts=dict.fromkeys(wrapping, Decimal(1)),
            work=line.commission.work if line else None,
            purpose=f"Set {piece_set.number}",
            why="Packed",
        )
    piece_set.save()
    FinishedPiece.objects.filter(pk__in=[piece.pk for piece in pieces]).update(piece_set=piece_set)
    keep_up(line, by)
    return piece_set


@transaction.atomic
def unpack_set(
    *, piece_set: PieceSet, by: User, why: str = "", packaging_back: bool = True
) -> PieceSet:
    """Take a set that is not sold apart again; its pieces are loose and its packaging is back.

    With ``packaging_back=False`` the packaging is spoiled and its cost stays lost.
    """
    lock_commission(piece_set.line)
    if piece_set.entry and packaging_back:
        entry, studio = piece_set.entry, piece_set.studio
        stock.reverse(studio=studio, by=by, entry=entry, why=why or "Set unpacked")
    else:
        packing_reversed(piece_set, by)
    piece_set.refresh_from_db()
    return piece_set


def packing_reversed(piece_set: PieceSet, by: User) -> None:
    """Take a set apart once its packaging is back on the shelf, or given up."""
    piece_set = _locked_sets(piece_set.studio, [piece_set])[0]
    if piece_set.unpacked_at or piece_set.written_off_at:
        raise SetRefused(f"{piece_set} is not packed any more.")
    if piece_set.sale_lines.filter(is_live=True).exists():
        raise SetRefused(f"{piece_set} is sold. Refund the sale first.")
    if out := piece_set.consigned.filter(outcome="out").first():
        raise SetRefused(f"{piece_set} is out on {out.consignment}. Take it back there first.")
    piece_set.pieces.update(piece_set=None)
    piece_set.unpacked_at = timezone.now()
    piece_set.save(update_fields=["unpacked_at"])
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
) -> Sale:
    """Sell sets together: ``items`` are (set, price with tax) pairs.

    The channel's fees and the studio's tax rate are kept with the sale as they are today. Sets
    made for one commission make the sale that commission's and move it on to delivered; what has
    been handed over and is not paid for yet is taken as paid on that day, unless the customer
    ``pays_later``. Shipping of which nothing is said is what the commission's accepted quote has of
    it and earlier sales did not take. ``share`` is the channel's share of the price where another
    was agreed.
    """
    items = list(items)
    refuse_strangers(studio, channel, customer, commission, *(piece_set for piece_set, _ in items))
    sets = _locked_sets(studio, [piece_set for piece_set, _ in items])
    _refuse_unsaleable(sets, items)
    _refuse_other_days(studio, sets, sold_on)
    commission = commission or _commission_of(sets)
    quote: Quote | None = commission.accepted_quote if commission else None
    shipping = shipping_of(commission, quote, shipping_charged, shipping_paid)
    if customer is None and commission is not None:
        customer = commission.customer
    sale = Sale.objects.create(
        studio=studio,
        number=next_number(studio, "sale"),
        channel=channel,
        customer=customer,
        commission=commission,
        sold_on=sold_on,
        shipping_charged=to_payable(shipping.charged, studio.currency),
        shipping_paid=to_payable(shipping.paid, studio.currency),
        fees=_fees(studio, channel, items, shipping.charged, share),
        tax_rate=studio.tax_rate,
    )
    SaleLine.objects.bulk_create(
        SaleLine(sale=sale, piece_set=piece_set, price=to_payable(asked, studio.currency))
        for piece_set, asked in items
    )
    if commission is not None and not pays_later:
        now = account(commission)
        if (rest := min(now.handed_over - now.paid, now.owed)) > 0:
            take_payment(
                commission=commission, by=by, amount=rest, paid_on=sold_on, how=how, sale=sale
            )
    for line in _commissions(sets, commission):
        keep_up(line, by, note=str(sale))
    return sale


@transaction.atomic
def refund(
    *, sale: Sale, by: User, why: str = "", fees_kept: Decimal = ZERO, returned: bool = True
) -> Sale:
    """Give the customer's money back. ``fees_kept`` is what the channel does not give back.

    For a commission, what was paid of the sale is recorded as given back.

    The sets are for sale again, or written off when they do not come back (``returned=False``).
    """
    sale = Sale.objects.select_for_update().get(pk=sale.pk)
    if sale.refunded_at:
        raise SaleRefused(f"{sale} is refunded already.")
    if not 0 <= fees_kept <= sale.fees:
        raise SaleRefused(f"The channel kept between nothing and its fees of {sale.fees}.")
    sets = [line.piece_set for line in sale.lines.select_related("piece_set__line__commission")]
    sale.lines.update(is_live=False)
    sale.refunded_at = timezone.now()
    sale.refund_note = why
    sale.fees_kept = to_payable(fees_kept, sale.studio.currency)
    sale.save(update_fields=["refunded_at", "refund_note", "fees_kept"])
    if not returned:
        PieceSet.objects.filter(pk__in=[one.pk for one in sets]).update(
            written_off_at=sale.refunded_at
        )
    if sale.commission is not None:
        back = min(account(sale.commission).paid, sale.goods + sale.shipping_charged)
        if back > 0:
            give_back(commission=sale.commission, by=by, amount=back, note=f"{sale} refunded")
    for commission in _commissions(sets, sale.commission):
        keep_up(commission, by, backwards=True, note=f"{sale} refunded")
    return sale


def prices_quoted(commission: Commission) -> Priced:
    """Return the unsold sets of a commission with their prices by its accepted quote, if any."""
    quote: Quote | None = commission.accepted_quote
    return [] if quote is None else priced(commission, quote)


def _locked_loose(studio: Studio, pieces: Iterable[FinishedPiece]) -> list[FinishedPiece]:
    wanted = [piece.pk for piece in pieces]
    found = list(
        FinishedPiece.objects.select_for_update(of=("self",))
        .filter(studio=studio, pk__in=wanted)
        .select_related("pour__surface")
        .order_by("pk")
    )
    if not found or len(set(wanted)) != len(wanted):
        raise SetRefused("Choose at least one finished piece for the set, each once.")
    busy = [piece for piece in found if piece.state != "good" or piece.piece_set_id]
    if busy:
        names = ", ".join(f"{piece}" for piece in busy)
        raise SetRefused(f"Only good pieces that are in no set can be packed, not {names}.")
    return found


def _check_line(line: CommissionLine, pieces: Sequence[FinishedPiece]) -> None:
    if len(pieces) != line.pieces_each:
        raise SetRefused(
            f"One of “{line}” is {line.pieces_each} pieces, and {len(pieces)} were chosen."
        )
    if any(piece.pour.surface_id != line.surface_id for piece in pieces):
        raise SetRefused(f"“{line}” needs pieces of {line.surface.name}.")
    if PieceSet.objects.packed().filter(line=line).count() >= line.quantity:
        raise SetRefused(f"All {line.quantity} of “{line}” are packed already.")
    pours = {piece.pour_id for piece in pieces}
    coats = Topcoating.objects.standing().filter(pour__in=pours)
    if line.topcoat_id and coats.values("pour").distinct().count() < len(pours):
        raise SetRefused(f"“{line}” has a resin topcoat, and not every piece chosen has had one.")


def _lowest_heat_limit(pieces: Iterable[FinishedPiece]) -> Decimal | None:
    """The least heat limit stated by the makers of the resins on the pieces, or None."""
    coats = Topcoating.objects.standing().filter(pour__in={piece.pour_id for piece in pieces})
    limits = coats.exclude(kit__heat_limit_c=None).order_by("kit__heat_limit_c")
    return limits.values_list("kit__heat_limit_c", flat=True).first()


def _locked_sets(studio: Studio, sets: Iterable[PieceSet]) -> list[PieceSet]:
    keys = [piece_set.pk for piece_set in sets]
    return list(
        PieceSet.objects.select_for_update(of=("self",))
        .filter(studio=studio, pk__in=keys)
        .select_related("line__commission__customer", "entry", "studio")
        .order_by("pk")
    )


def _refuse_unsaleable(sets: Sequence[PieceSet], items: Sequence[tuple[PieceSet, Decimal]]) -> None:
    if not items or len(sets) != len(items):
        raise SaleRefused("Choose at least one set to sell, each once.")
    if any(asked < 0 for _, asked in items):
        raise SaleRefused("A price cannot be below zero.")
    for piece_set in sets:
        if piece_set.unpacked_at or piece_set.written_off_at:
            raise SaleRefused(f"{piece_set} is not packed any more, so it cannot be sold.")
        if piece_set.sale_lines.filter(is_live=True).exists():
            raise SaleRefused(f"{piece_set} is sold already.")
        if out := piece_set.consigned.filter(outcome="out").first():
            raise SaleRefused(
                f"{piece_set} is out on {out.consignment}. Settle it there, or take it back."
            )


def _refuse_other_days(studio: Studio, sets: list[PieceSet], sold_on: date) -> None:
    """Refuse a day that has not come, and one on which the sets or their pieces were not there."""
    if sold_on > studio.today():
        raise SaleRefused("A sale is recorded once it is made. Choose a day that has come.")
    pieces = FinishedPiece.objects.filter(piece_set__in=sets).order_by()
    poured = dict(pieces.values_list("piece_set").annotate(Max("pour__poured_at")))
    for one in sets:
        made_on = one.made_on
        if one.pk in poured:
            made_on = max(made_on, poured[one.pk].astimezone(studio.zone).date())
        if sold_on < made_on:
            raise SaleRefused(
                f"{one} was made on {day(made_on)}, so it cannot have been sold before. Choose "
                "that day or a later one."
            )


def _commission_of(sets: Iterable[PieceSet]) -> Commission | None:
    """The one commission that all sets were made for, or None; one called off wants none."""
    found = {piece_set.line.commission if piece_set.line else None for piece_set in sets}
    (only,) = found if len(found) == 1 else (None,)
    return None if only is None or only.status in CALLED_OFF else only


def _commissions(sets: Iterable[PieceSet], commission: Commission | None) -> list[Commission]:
    found = {piece_set.line.commission for piece_set in sets if piece_set.line}
    if commission:
        found.add(commission)
    return sorted(found, key=lambda one: one.pk)


def _fees(
    studio: Studio,
    channel: Channel,
    items: Sequence[tuple[PieceSet, Decimal]],
    shipping_charged: Decimal,
    share: Decimal | None,
) -> Decimal:
    share = channel.percent_fee if share is None else share
    fixed = channel.fixed_fee + channel.listing_fee * len(items)
    goods = sum((asked for _, asked in items), ZERO)
    fees = price.fees(goods, share, fixed, shipping_charged, channel.fee_on_shipping)
    return to_payable(fees, studio.currency)
