"""What was on hand of each material at the end of each month, kept beside the ledger.

What was on hand on a past day is the last month end before it and the movements of its own month:
as much work for an old studio as for a new one.
"""

from collections import defaultdict
from collections.abc import Iterable
from datetime import date
from decimal import Decimal
from typing import Any, NamedTuple

from django.db import connection
from django.db.models import OuterRef, QuerySet, Subquery
from django.db.models.functions import TruncMonth

from inventory.models import MonthEnd, Movement
from studio.amounts import Total, steps_sql, stored_sql, to_steps
from studio.models import Studio
from studio.money import ZERO

BATCH = 2_000
QUANTITY_PLACES = MonthEnd._meta.get_field("quantity").decimal_places
VALUE_PLACES = MonthEnd._meta.get_field("value").decimal_places


def _sum_sql(row: str) -> str:
    """Return the SQL of what a kept row and an act come to together, as it is stored."""
    return ", ".join(
        stored_sql(f"act.{name} + COALESCE({steps_sql(f'{row}.{name}', places)}, 0)", places)
        for name, places in (("quantity", QUANTITY_PLACES), ("value", VALUE_PLACES))
    )


# The month of the act is what was there at the last month end up to it, and the act; each month
# after it changes by as much. No query of the model layer reads and replaces in one statement.
ADD = f"""
INSERT INTO inventory_monthend (studio_id, material_id, month, quantity, value)
WITH act (material_id, quantity, value) AS (VALUES {{values}})
SELECT {{studio}}, act.material_id, %s, {_sum_sql("kept")}
FROM act LEFT JOIN inventory_monthend AS kept ON kept.id = (
    SELECT id FROM inventory_monthend AS other
    WHERE other.material_id = act.material_id AND other.month <= %s
    ORDER BY other.month DESC LIMIT 1
)
UNION ALL
SELECT {{studio}}, act.material_id, kept.month, {_sum_sql("kept")}
FROM act JOIN inventory_monthend AS kept ON kept.material_id = act.material_id
WHERE kept.month > %s
ON CONFLICT (material_id, month) DO UPDATE SET quantity = excluded.quantity, value = excluded.value
"""
AN_ACT = "(%s, CAST(%s AS BIGINT), CAST(%s AS BIGINT))"


class Balance(NamedTuple):
    """What was on hand of a material, [its unit], and its cost, [currency]."""

    quantity: Decimal
    value: Decimal


NOTHING = Balance(ZERO, ZERO)


def add(studio: Studio, day: date, movements: Iterable[Movement]) -> None:
    """Add movements that count on a day to the end of its month and of those after it.

    Their materials are locked.
    """
    totals: defaultdict[int, Balance] = defaultdict(lambda: NOTHING)
    for move in movements:
        totals[move.material_id] = added(totals[move.material_id], move.quantity, move.value)
    if not totals:
        return
    month = connection.ops.adapt_datefield_value(day.replace(day=1))
    facts: list[Any] = []
    for pk, (quantity, value) in totals.items():
        facts += [pk, to_steps(quantity, QUANTITY_PLACES), to_steps(value, VALUE_PLACES)]
    sql = ADD.format(values=", ".join([AN_ACT] * len(totals)), studio=studio.pk)
    with connection.cursor() as cursor:
        cursor.execute(sql, [*facts, month, month, month])


def on_hand(studio: Studio, day: date) -> dict[int, Balance]:
    """Return what was on hand of each material at the end of a past day, by its key.

    In two queries; materials of which nothing was there are left out.
    """
    month = day.replace(day=1)
    earlier = MonthEnd.objects.filter(material=OuterRef("pk"), month__lt=month).order_by("-month")
    last = studio.materials.order_by().annotate(last=Subquery(earlier.values("pk")[:1]))
    kept = MonthEnd.objects.filter(pk__in=last.values("last")).order_by()
    found = {one.material_id: Balance(one.quantity, one.value) for one in kept}
    since = Movement.objects.filter(studio=studio, entry__studio=studio)
    since = since.filter(entry__booked_on__gte=month, entry__booked_on__lte=day).order_by()
    sums = since.values_list("material").annotate(Total("quantity"), Total("value"))
    for pk, quantity, value in sums:
        found[pk] = added(found.get(pk, NOTHING), quantity, value)
    return {pk: one for pk, one in found.items() if one != NOTHING}


def fill(studio: Studio) -> None:
    """Write all month ends of a studio that has none and in which nobody moves stock."""
    totals = moved().filter(studio=studio).annotate(Total("quantity"), Total("value"))
    rows: list[MonthEnd] = []
    for material, month, *more in totals.order_by("material", "month"):
        before = rows[-1] if rows and rows[-1].material_id == material else None
        left = added(Balance(before.quantity, before.value) if before else NOTHING, *more)
        at = {"studio": studio, "material_id": material, "month": month}
        rows.append(MonthEnd(**at, quantity=left.quantity, value=left.value))
    MonthEnd.objects.bulk_create(rows, batch_size=BATCH)


def moved() -> QuerySet[Any, Any]:
    """Return (material, month) of all that moved, grouped, by the day that it counts on."""
    month = TruncMonth("entry__booked_on")
    return Movement.objects.order_by().annotate(month=month).values_list("material", "month")


def added(one: Balance, quantity: Decimal, value: Decimal) -> Balance:
    return Balance(one.quantity + quantity, one.value + value)
