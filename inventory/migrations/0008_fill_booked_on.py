from zoneinfo import ZoneInfo

from django.db import migrations
from django.db.models.functions import TruncDate


def fill(apps, schema_editor):
    """Book every entry on the day it happened, on the calendar of its studio."""
    entries = apps.get_model("inventory", "Entry").objects
    for studio in apps.get_model("studio", "Studio").objects.iterator():
        day = TruncDate("happened_at", tzinfo=ZoneInfo(studio.time_zone))
        entries.filter(studio=studio).update(booked_on=day)


class Migration(migrations.Migration):

    dependencies = [
        ("inventory", "0007_booked_on"),
    ]

    operations = [
        migrations.RunPython(fill),
    ]
