"""Say what a thing on hand would bring, dated and with a reason; and take it back."""

from datetime import date
from decimal import Decimal

from django.contrib.auth.models import User
from django.db import transaction
from django.utils import timezone

from inventory.models import Bottle, Material
from pricing.errors import AppraisalRefused
from pricing.models import Appraisal, PieceSet
from studio.models import Studio
from studio.money import minor_places

MOST = Decimal(1_000_000)


@transaction.atomic
def appraise(
    *,
    studio: Studio,
    by: User | None,
    thing: Material | Bottle | PieceSet,
    value: Decimal,
    reason: str,
    day: date | None = None,
) -> Appraisal:
    """Note what all that is on hand of a thing would bring; returns the `Appraisal`.

    ``thing`` is a material, a bottle or a set of the studio, and ``value``, [currency], is what it
    would bring as it is, after what selling it costs. Raises `AppraisalRefused` when nothing of it
    is on hand, for a day to come, and without a reason.
    """
    day = day or studio.today()
    if day > studio.today():
        raise AppraisalRefused("Give the day of the value: today or a day before.")
    if not reason.strip():
        raise AppraisalRefused("Say why: what is wrong with it, or who offered that much.")
    if not value.is_finite() or not 0 <= value < MOST:
        raise AppraisalRefused(f"What it would bring is from 0 to below {MOST:,}.")
    name, quantity = _named(studio, thing)
    return Appraisal.objects.create(
        studio=studio,
        by=by,
        quantity=quantity,
        value=round(value, minor_places(studio.currency)),
        reason=reason,
        day=day,
        **{name: thing},
    )


@transaction.atomic
def withdraw_appraisal(*, appraisal: Appraisal) -> Appraisal:
    """Take an appraisal back: the thing is measured as if it had not been made."""
    appraisal = Appraisal.objects.select_for_update().get(pk=appraisal.pk)
    if appraisal.withdrawn_at:
        raise AppraisalRefused("This value was withdrawn already.")
    appraisal.withdrawn_at = timezone.now()
    appraisal.save(update_fields=["withdrawn_at"])
    return appraisal


def _named(studio: Studio, thing: Material | Bottle | PieceSet) -> tuple[str, Decimal]:
    """Return the field that names a thing, and how much of it is on hand."""
    if isinstance(thing, Material):
        name, quantity = "material", thing.on_hand
    elif isinstance(thing, Bottle):
        name, quantity = "bottle", thing.remaining
    else:
        is_there = studio.sets.unsold().filter(pk=thing.pk).exists()
        name, quantity = "piece_set", Decimal(int(is_there))
    if not quantity:
        raise AppraisalRefused(f"Nothing of {thing} is on hand, so there is nothing to value.")
    return name, quantity
