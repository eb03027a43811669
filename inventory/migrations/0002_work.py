import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    """Make room for the work that holds and batches are for; `0003` takes out what named it."""

    dependencies = [("inventory", "0001_initial"), ("studio", "0001_initial")]

    operations = [
        migrations.CreateModel(
            name="Work",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "studio",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="works",
                        to="studio.studio",
                    ),
                ),
            ],
            options={"ordering": ["pk"]},
        ),
        migrations.AddField(
            model_name="hold",
            name="work",
            field=models.ForeignKey(
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="holds",
                to="inventory.work",
            ),
        ),
        migrations.AddField(
            model_name="batch",
            name="work",
            field=models.ForeignKey(
                blank=True,
                editable=False,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="batches",
                to="inventory.work",
            ),
        ),
    ]
