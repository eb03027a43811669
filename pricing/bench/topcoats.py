"""Topcoats: log the resin poured over a pour's good pieces, or undo that."""

from datetime import datetime
from decimal import Decimal

from django.contrib.auth.models import User
from django.db import transaction
from django.utils import timezone

from inventory.stock import ledger as stock
from inventory.stock.shelf import local_day
from pricing.commissions.progress import keep_up, lock_work
from pricing.costing.keeping import keep_piece_costs
from pricing.errors import PourRefused
from pricing.estimating.resins import kit_materials
from pricing.models import FinishedPiece, Pour, ResinKit, Topcoating
from studio.money import ZERO
from studio.rows import refuse_strangers


@transaction.atomic
def log_topcoat(
    *,
    pour: Pour,
    by: User,
    kit: ResinKit,
    mixed_ml: Decimal,
    minutes: Decimal = ZERO,
    spoiled_count: int = 0,
    coated_at: datetime | None = None,
) -> Topcoating:
    """Log a topcoat over the good pieces of a pour: A and B leave the shelf by the kit's ratio.

    ``spoiled_count`` pieces become failed ones, the last ones first; the others carry their cost.
    """
    lock_work(pours=[pour.pk])
    pour = Pour.objects.get(pk=pour.pk)
    studio = pour.studio
    refuse_strangers(studio, kit)
    if not Pour.objects.standing().filter(pk=pour.pk).exists():
        raise PourRefused(f"{pour} was undone, so there is nothing to coat.")
    if mixed_ml <= 0 or minutes < 0:
        raise PourRefused("Say how much resin was mixed; minutes cannot be below zero.")
    loose = pour.pieces.filter(state=FinishedPiece.State.GOOD, piece_set=None)
    spoiled = list(loose.order_by("-number")[:spoiled_count]) if spoiled_count > 0 else []
    if not loose or len(spoiled) != max(spoiled_count, 0):
        raise PourRefused(f"{pour} has {loose.count()} loose good pieces to coat.")
    coat = Topcoating(
        studio=studio,
        pour=pour,
        kit=kit,
        mixed_ml=mixed_ml,
        coated_at=coated_at or timezone.now(),
        spoiled_count=len(spoiled),
        by=by,
        minutes=minutes,
        labour_rate=studio.labour_rate,
        overhead_rate=studio.overhead_rate,
    )
    coat.entry = stock.use(
        studio=studio,
        by=by,
        amounts=kit_materials(kit, mixed_ml),
        work=pour.line.commission.work if pour.line else None,
        happened_at=coat.coated_at,
        purpose=f"Topcoat of pour {pour.number}",
        why=kit.name,
    )
    coat.save()
    pour.pieces.filter(pk__in=[piece.pk for piece in spoiled]).update(
        state=FinishedPiece.State.FAILED, spoiled_by=coat
    )
    keep_up(pour.line, by, note=str(coat))
    keep_piece_costs(pour, local_day(studio, coat.coated_at))
    return coat


@transaction.atomic
def undo_topcoat(*, coat: Topcoating, by: User, why: str) -> Topcoating:
    """Reverse a topcoat: resin is back on the shelf and the pieces it spoiled are good again."""
    stock.reverse(studio=coat.studio, by=by, entry=coat.entry, why=why)
    coat.refresh_from_db()
    return coat


def topcoat_reversed(coat: Topcoating, by: User) -> None:
    """Carry the reversal of a topcoat's entry over to the pieces it spoiled.

    Whoever reverses it has locked its work.
    """
    if coat.pour.pieces.exclude(piece_set=None).exists():
        raise PourRefused(f"Pieces of {coat.pour} are in a set. Unpack the set first.")
    coat.spoiled.update(state=FinishedPiece.State.GOOD, spoiled_by=None)
    keep_up(coat.pour.line, by, backwards=True, note=f"{coat} undone")
    keep_piece_costs(coat.pour, coat.studio.today())
