"""Topcoats: log the resin poured over a pour's good pieces, or undo that."""

from collections.abc import Mapping
from datetime import datetime
from decimal import Decimal

from django.contrib.auth.models import User
from django.db import transaction
from django.utils import timezone

from inventory.models import Material
from inventory.stock import ledger as stock
from inventory.stock.shelf import local_day
from pricing.bench.judging import settle
from pricing.bench.recovering import refuse_recovered
from pricing.commissions.progress import keep_up, lock_work
from pricing.costing.keeping import keep_piece_costs
from pricing.errors import PourRefused
from pricing.estimating.resins import kit_materials
from pricing.estimating.step_materials import all_steps, amounts_used, really_used
from pricing.models import FinishedPiece, Judgement, Pour, ResinKit, Topcoating
from pricing.readiness.asking import Act, ask
from pricing.readiness.concerns import before_coating
from pricing.readiness.rooms import refuse_room
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
    coated_at: datetime | None = None,
    room_c: Decimal | None = None,
    humidity_percent: Decimal | None = None,
    reason: str = "",
    used: Mapping[Material, Decimal] | None = None,
) -> Topcoating:
    """Log a topcoat over the good pieces of a pour: A and B leave the shelf by the kit's ratio.

    So does what sealing them before it used: as the technique says, or of a material as ``used``.
    How they came out is judged once it is hard (`pricing.bench.judging`). ``reason`` is why it goes
    on where the paint is not dry or the room does not suit, see `readiness.asking`; ``room_c`` and
    ``humidity_percent`` are that room.
    """
    lock_work(pours=[pour.pk])
    pour = Pour.objects.get(pk=pour.pk)
    studio = pour.studio
    refuse_strangers(studio, kit, *(used or {}))
    if not Pour.objects.standing().filter(pk=pour.pk).exists():
        raise PourRefused(f"{pour} was undone, so there is nothing to coat.")
    if mixed_ml <= 0 or minutes < 0:
        raise PourRefused("Say how much resin was mixed; minutes cannot be below zero.")
    loose = pour.pieces.filter(state=FinishedPiece.State.GOOD, piece_set=None)
    if not (count := loose.count()):
        raise PourRefused(f"{pour} has no loose good pieces to coat.")
    if coated_at and coated_at < pour.poured_at:
        raise PourRefused(f"{pour} was not poured yet then. Choose a later time.")
    refuse_room(room_c, humidity_percent)
    coat = Topcoating(
        studio=studio,
        pour=pour,
        kit=kit,
        mixed_ml=mixed_ml,
        coated_at=coated_at or timezone.now(),
        room_c=room_c,
        humidity_percent=humidity_percent,
        by=by,
        minutes=minutes,
        labour_rate=studio.labour_rate,
        overhead_rate=studio.overhead_rate,
    )
    against = before_coating(coat)
    coat.entry = stock.use(
        studio=studio,
        by=by,
        amounts=_with_sealing(kit_materials(kit, mixed_ml), pour, count, used),
        work=pour.line.commission.work if pour.line else None,
        happened_at=coat.coated_at,
        purpose=f"Topcoat of pour {pour.number}",
        why=kit.name,
    )
    coat.save()
    keep_up(pour.line, by, note=str(coat))
    keep_piece_costs(pour, local_day(studio, coat.coated_at))
    ask(Act.COAT, against, reason, studio=studio, by=by, topcoating=coat)
    return coat


def _with_sealing(
    resin: Mapping[Material, Decimal],
    pour: Pour,
    count: int,
    used: Mapping[Material, Decimal] | None,
) -> dict[Material, Decimal]:
    steps = all_steps().filter(technique=pour.technique_id)
    planned = amounts_used(steps, "coat", pour.surface, count, coated=True)
    amounts = dict(resin)
    for material, amount in really_used(planned, used).items():
        amounts[material] = amounts.get(material, ZERO) + amount
    return amounts


@transaction.atomic
def undo_topcoat(*, coat: Topcoating, by: User, why: str) -> Topcoating:
    """Reverse a topcoat: resin is back on the shelf and its judgements are taken back."""
    stock.reverse(studio=coat.studio, by=by, entry=coat.entry, why=why)
    coat.refresh_from_db()
    return coat


def topcoat_reversed(coat: Topcoating, by: User) -> None:
    """Carry the reversal of a topcoat's entry over to what was judged of it.

    Whoever reverses it has locked its work.
    """
    if coat.pour.pieces.exclude(piece_set=None).exists():
        raise PourRefused(f"Pieces of {coat.pour} are in a set. Unpack the set first.")
    refuse_recovered(coat.spoiled.all())
    pour = Pour.objects.get(pk=coat.pour_id)
    judged = list(pour.pieces.filter(judgements__coat=coat))
    Judgement.objects.filter(coat=coat).delete()
    settle(pour, judged)
    keep_up(coat.pour.line, by, backwards=True, note=f"{coat} undone")
    keep_piece_costs(coat.pour, coat.studio.today())
