from django.db import migrations
from django.db.models import F


def fill(apps, schema_editor):
    """Book every payment, sale and refund on its own day."""
    apps.get_model("pricing", "Payment").objects.update(booked_on=F("paid_on"))
    sales = apps.get_model("pricing", "Sale").objects
    sales.update(booked_on=F("sold_on"), refund_booked_on=F("refunded_on"))


class Migration(migrations.Migration):

    dependencies = [("pricing", "0017_booked_on")]

    operations = [migrations.RunPython(fill)]
