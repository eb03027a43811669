"""Pieces that dry, weighed: written down, and taken back where one was read or typed wrong."""

from datetime import datetime
from decimal import Decimal

from django.contrib.auth.models import User
from django.db import transaction
from django.utils import timezone

from pricing.errors import PourRefused
from pricing.models import Pour, Weighing
from pricing.models.weighing import LEAST_G, MOST_G


@transaction.atomic
def weigh_piece(
    *, pour: Pour, by: User | None, piece: int, grams: Decimal, weighed_at: datetime | None = None
) -> Weighing:
    """Write down what a piece of a pour, by its number, weighs with its surface, [g].

    Raises `PourRefused` for a pour that was undone, a piece that it does not have, a weight that
    cannot be, and a moment before the pour, to come, or with a weight already.
    """
    if not Pour.objects.standing().filter(pk=pour.pk).exists():
        raise PourRefused(f"{pour} was undone, so there is nothing to weigh.")
    now = timezone.now()
    weighed_at = weighed_at or now
    if not pour.poured_at <= weighed_at <= now:
        raise PourRefused(f"Weigh {pour} after it was poured, and not later than now.")
    if not grams.is_finite() or not LEAST_G <= grams <= MOST_G:
        raise PourRefused(f"A piece weighs {LEAST_G} g to {MOST_G} g.")
    row = pour.pieces.select_for_update().filter(number=piece).first()
    if row is None:
        raise PourRefused(f"{pour} has pieces 1 to {pour.count}. Choose one of them.")
    if row.weighings.filter(weighed_at=weighed_at).exists():
        raise PourRefused(f"{row} has a weight of that moment. Take that one back first.")
    return Weighing.objects.create(
        studio=pour.studio,
        piece=row,
        grams=grams.quantize(Decimal("0.01")),
        weighed_at=weighed_at,
        by=by,
    )


def remove_weighing(*, weighing: Weighing) -> None:
    """Take back a weight that was read or typed wrong."""
    weighing.delete()
