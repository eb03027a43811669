"""Batches mixed at the bench: what was mixed, how much, and the trace it really had.

A batch takes nothing from the shelf: what a piece took is posted when its pour is logged, and
taking it twice would leave the books short.
"""

from decimal import Decimal

from django.db import transaction
from django.utils import timezone

from inventory.errors import BatchRefused, NotInStudio
from inventory.models import Batch

LEAST_ML, MOST_ML = Decimal("0.1"), Decimal(100_000)
LEAST_TRACE, MOST_TRACE = Decimal("0.1"), Decimal(600)
COLDEST_C, HOTTEST_C = Decimal(-10), Decimal(60)


@transaction.atomic
def log_batch(
    *,
    studio,
    by,
    recipe,
    volume_ml,
    made_at=None,
    trace_seconds=None,
    temperature_c=None,
    purpose="",
    notes="",
):
    """Write down a batch of a recipe as it came out; returns it. No stock moves.

    Raises `BatchRefused` for an amount, a trace, a temperature or a time that cannot be, and
    `NotInStudio` for another studio's recipe.
    """
    if recipe.studio_id != studio.pk:
        raise NotInStudio("There is no recipe like that in this studio.")
    made_at = made_at or timezone.now()
    if made_at > timezone.now():
        raise BatchRefused("A batch is logged once it is mixed. Choose a time that has passed.")
    _within(volume_ml, LEAST_ML, MOST_ML, "A batch is from 0.1 mL to 100 L.")
    if trace_seconds is not None:
        _within(trace_seconds, LEAST_TRACE, MOST_TRACE, "A trace is from 0.1 to 600 seconds.")
    if temperature_c is not None:
        _within(temperature_c, COLDEST_C, HOTTEST_C, "A temperature is from −10 to 60 °C.")
    if len(purpose) > 120:
        raise BatchRefused("Say what it is for in up to 120 characters.")
    return Batch.objects.create(
        studio=studio,
        recipe=recipe,
        volume_ml=round(volume_ml, 3),
        trace_seconds=trace_seconds,
        temperature_c=temperature_c,
        purpose=purpose,
        notes=notes,
        made_at=made_at,
        by=by,
    )


@transaction.atomic
def take_out_batch(*, batch):
    """Take out a batch that was logged by mistake; nothing hangs on it."""
    batch.delete()


def _within(number, least, most, sentence):
    if not isinstance(number, Decimal) or not number.is_finite() or not least <= number <= most:
        raise BatchRefused(sentence)
