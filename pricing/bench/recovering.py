"""Failed pieces wiped, and their surfaces brought back to the shelf."""

from collections.abc import Collection
from decimal import Decimal

from django.contrib.auth.models import User
from django.db import models, transaction

from inventory.models import Entry, Movement
from inventory.stock import ledger as stock
from pricing.commissions.progress import lock_work
from pricing.errors import JudgementRefused
from pricing.models import FinishedPiece, Pour
from studio.money import ZERO

Kind = Movement.Kind


@transaction.atomic
def recover_surfaces(*, pour: Pour, by: User, pieces: Collection[int]) -> Entry:
    """Bring the surfaces of failed pieces back to the shelf, by their numbers; returns the entry.

    They come back in one box and at no cost: what they cost stays where that of failed pieces is.
    Undoing the entry takes them off the shelf again. Raises `JudgementRefused` for pieces that have
    not failed or were wiped before, and for a pour that took no surface off the shelf.
    """
    lock_work(pours=[pour.pk])
    pour = Pour.objects.select_related("surface__material", "entry", "studio").get(pk=pour.pk)
    rows = list(pour.pieces.filter(number__in=pieces).select_related("pour"))
    if not rows or len(rows) != len(pieces):
        raise JudgementRefused(f"Choose failed pieces of {pour}, each once.")
    for piece in rows:
        if piece.state != FinishedPiece.State.FAILED:
            raise JudgementRefused(f"{piece} has not failed. Judge it first.")
        if piece.recovery_id:
            raise JudgementRefused(f"{piece} was wiped already, and its surface came back.")
    material = pour.surface.material
    took = pour.entry.movements.filter(material=material, kind=Kind.USE) if material else None
    if material is None or took is None or not took.exists():
        raise JudgementRefused(f"{pour} took no surface off the shelf, so none comes back to it.")
    quantity = Decimal(len(rows))
    box = stock.Receipt(material=material, quantity=quantity, value=ZERO)
    entry = stock.post(
        studio=pour.studio,
        by=by,
        moves=[stock.StockMove(Kind.RECOVER, material, quantity, new_bottle=box)],
        purpose=f"Recovered from pour {pour.number}",
        why="Wiped, to be poured on again",
    )
    pour.pieces.filter(pk__in=[piece.pk for piece in rows]).update(recovery=entry)
    return entry


def recovery_reversed(pieces: "models.Manager[FinishedPiece]", by: User) -> None:
    """Let pieces be unwiped again once the entry that brought their surfaces back is reversed."""
    pieces.update(recovery=None)


def refuse_recovered(pieces: "models.QuerySet[FinishedPiece]") -> None:
    """Refuse where a surface is back on the shelf that another act would bring back again."""
    if piece := pieces.exclude(recovery=None).select_related("pour").first():
        raise JudgementRefused(
            f"{piece} was wiped and its surface is back on the shelf. Undo that recovery first."
        )
