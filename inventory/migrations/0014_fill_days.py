from decimal import Decimal

from django.db import migrations
from django.db.models.functions import TruncMonth

from studio.amounts import Total

NONE = (Decimal(0), Decimal(0))
MOST = 500


def fill(apps, schema_editor):
    """Write what was on hand at the end of each month, and what is promised now, as found."""
    for studio in apps.get_model("studio", "Studio").objects.iterator():
        _fill_months(apps, studio)
        _fill_holds(apps, studio)


def _fill_months(apps, studio):
    month_end = apps.get_model("inventory", "MonthEnd")
    moves = apps.get_model("inventory", "Movement").objects.filter(studio=studio).order_by()
    months = moves.annotate(month=TruncMonth("entry__booked_on")).values_list("material", "month")
    sums = months.annotate(Total("quantity"), Total("value")).order_by("material", "month")
    rows, last, left = [], None, NONE
    for material, month, *more in sums.iterator():
        left = tuple(map(sum, zip(left if material == last else NONE, more)))
        last = material
        at = {"studio": studio, "material_id": material, "month": month}
        rows.append(month_end(**at, quantity=left[0], value=left[1]))
    month_end.objects.bulk_create(rows, batch_size=MOST)


def _fill_holds(apps, studio):
    change = apps.get_model("inventory", "HoldChange")
    rows = [
        change(
            studio=studio,
            hold=hold,
            kind="found",
            quantity=hold.quantity,
            used=hold.used,
            label=hold.label,
            needed_by=hold.needed_by,
        )
        for hold in apps.get_model("inventory", "Hold").objects.filter(
            studio=studio, released_at=None
        )
    ]
    change.objects.bulk_create(rows, batch_size=MOST)


class Migration(migrations.Migration):

    dependencies = [
        ("inventory", "0013_days_kept"),
    ]

    operations = [
        migrations.RunPython(fill),
    ]
