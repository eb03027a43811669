from django.db import migrations


def fill(apps, schema_editor):
    """Give every commission its work, and holds and batches the work that their keys named.

    The key of a commission's holds was made of its number in the database. Where no commission has
    a key, whatever was held under it is a work of its own.
    """
    Work, Hold, Batch = (apps.get_model("inventory", name) for name in ("Work", "Hold", "Batch"))
    Commission = apps.get_model("pricing", "Commission")
    works = {}
    for commission in Commission.objects.order_by("pk").iterator():
        work = Work.objects.create(studio_id=commission.studio_id)
        works[commission.studio_id, f"commission-{commission.pk}"] = work
        Commission.objects.filter(pk=commission.pk).update(work=work)
    for model, field in ((Hold, "key"), (Batch, "hold_key")):
        keyed = model.objects.exclude(**{field: ""}).order_by("studio_id", field)
        for studio_id, key in keyed.values_list("studio_id", field).distinct():
            if (studio_id, key) not in works:
                works[studio_id, key] = Work.objects.create(studio_id=studio_id)
            rows = model.objects.filter(**{"studio_id": studio_id, field: key})
            rows.update(work=works[studio_id, key])


class Migration(migrations.Migration):
    dependencies = [("pricing", "0002_commission_work")]
    run_before = [("inventory", "0003_no_keys_of_work")]

    operations = [migrations.RunPython(fill)]
