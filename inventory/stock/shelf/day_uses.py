"""The totals of each day's use, kept beside the ledger.

What is reordered rests on the use of the last half year. Adding it up from the movements would cost
the more the busier a studio is; these totals are one row a material and day, however often it was
used.
"""

import zoneinfo
from collections import defaultdict
from collections.abc import Iterable
from datetime import datetime
from decimal import Decimal
from typing import Any

from django.db import connection, transaction
from django.db.models import Q, QuerySet
from django.db.models.functions import TruncDate
from django.utils import timezone

from inventory.models import DayUse, Movement
from inventory.models.movement import LEAVES
from inventory.stock.shelf.rows import lock
from studio.amounts import Total, steps_sql, stored_sql, to_steps
from studio.models import Studio
from studio.money import ZERO

Kind = Movement.Kind
CONSUMED = Q(kind__in=LEAVES) | Q(kind=Kind.MIX, quantity__lt=0)
BATCH = 2_000
PLACES = DayUse._meta.get_field("quantity").decimal_places
# Adds to a day in one statement, which the model layer cannot: it only knows how to replace.
KEPT, MORE = (steps_sql(f"{row}.quantity", PLACES) for row in ("inventory_dayuse", "excluded"))
ADD = f"""
INSERT INTO inventory_dayuse (studio_id, material_id, day, quantity) VALUES {{values}}
ON CONFLICT (studio_id, material_id, day)
DO UPDATE SET quantity = {stored_sql(f"{KEPT} + {MORE}", PLACES)}
"""
A_DAY = f"(%s, %s, %s, {stored_sql('%s', PLACES)})"


def count(
    studio: Studio, moment: datetime, movements: Iterable[Movement], *, undone: bool = False
) -> None:
    """Add what movements consumed to their day, or take it off again.

    Their materials are locked, and ``studio`` was read after that: its time zone may have changed.
    """
    totals: defaultdict[int, Decimal] = defaultdict(lambda: ZERO)
    for move in movements:
        if move.kind in LEAVES or (move.kind == Kind.MIX and move.quantity < 0):
            totals[move.material_id] += move.quantity if undone else -move.quantity
    if not totals:
        return
    day = timezone.localtime(moment, zoneinfo.ZoneInfo(studio.time_zone)).date()
    written = connection.ops.adapt_datefield_value(day)
    rows = [(studio.pk, pk, written, to_steps(quantity, PLACES)) for pk, quantity in totals.items()]
    with connection.cursor() as cursor:
        values = ", ".join([A_DAY] * len(rows))
        cursor.execute(ADD.format(values=values), [value for row in rows for value in row])


@transaction.atomic
def rebuild(studio: Studio) -> None:
    """Count every day's use anew from the ledger, on the calendar of the studio's time zone."""
    lock(studio, studio.materials.values_list("pk", flat=True))
    studio.day_uses.all().delete()
    fill(studio)


def fill(studio: Studio) -> None:
    """Count every day's use of a studio that has none counted and in which nobody moves stock."""
    rows = consumed(studio.time_zone).filter(studio=studio).annotate(total=Total("quantity"))
    days = [
        DayUse(studio=studio, material_id=row["material"], day=row["date"], quantity=-row["total"])
        for row in rows.iterator(chunk_size=BATCH)
    ]
    for start in range(0, len(days), BATCH):  # each lot by itself, so that others can write between
        DayUse.objects.bulk_create(days[start : start + BATCH])


def consumed(time_zone: str) -> QuerySet[Any, Any]:
    """Return all that was consumed and not undone, grouped by ``material`` and ``date``."""
    day = TruncDate("entry__happened_at", tzinfo=zoneinfo.ZoneInfo(time_zone))
    moves = Movement.objects.filter(CONSUMED, entry__reversed_by=None)
    return moves.order_by().annotate(date=day).values("material", "date")
