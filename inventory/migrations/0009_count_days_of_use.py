"""Count what each day used from the ledger as it stands."""

import zoneinfo

from django.db import migrations
from django.db.models import Q
from django.db.models.functions import TruncDate

from studio.amounts import Total

CONSUMED = Q(kind__in=["use", "waste", "weigh_in"]) | Q(kind="mix", quantity__lt=0)


def count(apps, schema_editor):
    Studio = apps.get_model("studio", "Studio")
    Movement = apps.get_model("inventory", "Movement")
    DayUse = apps.get_model("inventory", "DayUse")
    for studio in Studio.objects.order_by("pk"):
        day = TruncDate("entry__happened_at", tzinfo=zoneinfo.ZoneInfo(studio.time_zone))
        rows = (
            Movement.objects.filter(CONSUMED, studio=studio, entry__reversed_by=None)
            .order_by()
            .annotate(date=day)
            .values_list("material", "date")
            .annotate(total=Total("quantity"))
        )
        DayUse.objects.bulk_create(
            (
                DayUse(studio=studio, material_id=material, day=date, quantity=-total)
                for material, date, total in rows.iterator()
            ),
            batch_size=2_000,
        )


class Migration(migrations.Migration):

    dependencies = [("inventory", "0008_days_of_use")]

    operations = [migrations.RunPython(count, migrations.RunPython.noop)]
