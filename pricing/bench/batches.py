"""Batches for the work they are mixed for: a commission's ingredients become its mix."""

from collections.abc import Sequence
from datetime import datetime
from decimal import Decimal
from typing import Required, TypedDict, Unpack

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import QuerySet

from inventory.mixing import batches
from inventory.models import Batch, Bottle, Recipe
from pricing.bench.mixing_sheets import left_to_do
from pricing.commissions.commission_holds import HELD_IN, renew_holds
from pricing.errors import PourRefused
from pricing.estimating.mixes import recipes_of
from pricing.models import Commission, CommissionLine, Palette
from studio.models import Studio
from studio.rows import refuse_strangers


class BatchDetails(TypedDict, total=False):
    """The fields of a batch, but for the commission it is mixed for."""

    recipe: Required[Recipe]
    volume_ml: Required[Decimal]
    bottles: Sequence[Bottle]
    made_at: datetime | None
    trace_seconds: Decimal | None
    temperature_c: Decimal | None
    purpose: str
    notes: str
    place: str


@transaction.atomic
def mix_batch(
    *,
    studio: Studio,
    by: User,
    commission: Commission | None = None,
    **details: Unpack[BatchDetails],
) -> Batch:
    """Mix a batch, for a commission or for stock; returns it.

    ``mixed`` is what `mix_batch` takes. What was held of the ingredients for the
    commission is drawn down and the mix is held for it instead, as far as it still needs it.
    """
    refuse_strangers(studio, commission)
    if commission is None:
        return batches.mix_batch(studio=studio, by=by, **details)
    commission = Commission.objects.select_for_update().get(pk=commission.pk)
    if commission.status not in HELD_IN:
        raise PourRefused(
            f"{commission} is {commission.get_status_display().lower()}, so nothing is held for it "
            "to mix from. Mix for stock instead, or choose work that is accepted."
        )
    batch = batches.mix_batch(studio=studio, by=by, work=commission.work, **details)
    renew_holds(commission)
    return batch


@transaction.atomic
def undo_batch(*, batch: Batch, by: User, why: str = "") -> bool:
    """Undo a batch; its ingredients are held again for what it was mixed for.

    Returns whether it is still on the list.
    """
    _commission_of(batch)
    return batches.undo_batch(batch=batch, by=by, why=why)


def batch_reversed(batch: Batch, by: User) -> None:
    """Renew the holds of a batch's commission once its entry is reversed."""
    commission = _commission_of(batch)
    if commission is not None:
        renew_holds(commission)


def line_poured_from(batch: Batch) -> CommissionLine | None:
    """Return the line that a batch was mixed for and that has pieces left to pour, or None."""
    commission = _commission_in(batch, Commission.objects.all())
    if commission is None:
        return None
    lines = commission.lines.select_related("palette").prefetch_related("palette__colours")
    to_pour, _ = left_to_do(commission.lines.all())
    return next((one for one in lines if to_pour[one.pk] and _layers(one.palette, batch)), None)


def layers_poured_from(batch: Batch) -> list[str]:
    """Return the layers of the studio's palettes that a batch can be poured in, each once."""
    palettes = batch.studio.palettes.filter(archived_at=None).prefetch_related("colours")
    return list(dict.fromkeys(layer for one in palettes for layer in _layers(one, batch)))


def _layers(palette: Palette, batch: Batch) -> list[str]:
    return [layer for layer, recipes in recipes_of(palette).items() if batch.recipe_id in recipes]


def _commission_of(batch: Batch) -> Commission | None:
    """Return the commission that a batch was mixed for, locked, or None."""
    return _commission_in(batch, Commission.objects.select_for_update())


def _commission_in(batch: Batch, rows: QuerySet[Commission]) -> Commission | None:
    return rows.filter(work=batch.work_id).first() if batch.work_id else None
