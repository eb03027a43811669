"""Bottles that are empty are put away by themselves from now on; those that are there, here."""

from django.db import migrations
from django.utils import timezone


def put_away(apps, schema_editor):
    apps.get_model("inventory", "Bottle").objects.filter(remaining=0, archived_at=None).update(
        archived_at=timezone.now()
    )


class Migration(migrations.Migration):
    dependencies = [("inventory", "0005_decanting")]

    operations = [migrations.RunPython(put_away, migrations.RunPython.noop, elidable=True)]
