"""Sets ready for an act: locked, and refused where they cannot be sold."""

from collections.abc import Iterable, Sequence
from datetime import date
from decimal import Decimal

from django.db.models import Max

from pricing.commissions.progress import lock_work
from pricing.errors import SaleRefused
from pricing.models import Commission, FinishedPiece, PieceSet
from studio.dates import in_full as day
from studio.models import Studio


def locked_sets(
    studio: Studio, sets: Iterable[PieceSet], commission: Commission | None = None
) -> list[PieceSet]:
    """Return sets as they are now, locked after the work that they are made of and for."""
    keys = [piece_set.pk for piece_set in sets]
    lock_work(sets=keys, commissions=[commission.pk] if commission else [])
    return list(
        PieceSet.objects.select_for_update(of=("self",))
        .filter(studio=studio, pk__in=keys)
        .select_related("line__commission__customer", "entry", "studio")
        .order_by("pk")
    )


def commissions_of(
    sets: Iterable[PieceSet], commission: Commission | None = None
) -> list[Commission]:
    """Return the commissions that locked sets were made for, and one that they go to."""
    commissions = {piece_set.line.commission for piece_set in sets if piece_set.line}
    if commission:
        commissions.add(commission)
    return sorted(commissions, key=lambda one: one.pk)


def refuse_unsaleable(sets: Sequence[PieceSet], items: Sequence[tuple[PieceSet, Decimal]]) -> None:
    if not items or len(sets) != len(items):
        raise SaleRefused("Choose at least one set to sell, each once.")
    if any(amount < 0 for _, amount in items):
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


def refuse_other_days(studio: Studio, sets: list[PieceSet], sold_on: date) -> None:
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
