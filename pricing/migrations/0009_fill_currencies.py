from zoneinfo import ZoneInfo

from django.db import migrations


def fill(apps, schema_editor):
    """Give each row the currency and tax rule of its studio, and a refund the day it was noted."""
    Studio = apps.get_model("studio", "Studio")
    Sale, Payment, Consignment = (
        apps.get_model("pricing", name) for name in ("Sale", "Payment", "Consignment")
    )
    for studio in Studio.objects.iterator():
        for model in (Sale, Payment, Consignment):
            model.objects.filter(studio=studio).update(currency=studio.currency)
        sales = Sale.objects.filter(studio=studio)
        sales.update(tax_inclusive=studio.tax_inclusive)
        zone = ZoneInfo(studio.time_zone)
        for key, moment in sales.exclude(refunded_at=None).values_list("pk", "refunded_at"):
            day = moment.astimezone(zone).date()
            Sale.objects.filter(pk=key).update(refunded_on=day)


class Migration(migrations.Migration):
    dependencies = [("pricing", "0008_own_currencies")]

    operations = [migrations.RunPython(fill)]
