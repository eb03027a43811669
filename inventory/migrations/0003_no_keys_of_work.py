import django.db.models.deletion
from django.db import migrations, models
from django.db.models import Q


class Migration(migrations.Migration):
    """Take out the texts that named the work; the app above has filled in the rows by now."""

    dependencies = [("inventory", "0002_work")]

    operations = [
        migrations.RemoveConstraint(model_name="hold", name="hold_once_per_work_and_material"),
        migrations.RemoveField(model_name="hold", name="key"),
        migrations.RemoveField(model_name="batch", name="hold_key"),
        migrations.AlterField(
            model_name="hold",
            name="work",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT,
                related_name="holds",
                to="inventory.work",
            ),
        ),
        migrations.AddConstraint(
            model_name="hold",
            constraint=models.UniqueConstraint(
                condition=Q(released_at=None),
                fields=["work", "material"],
                name="hold_once_per_work_and_material",
            ),
        ),
    ]
