import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    """Make room for what the stock room knows a commission as."""

    dependencies = [("pricing", "0001_initial"), ("inventory", "0002_work")]

    operations = [
        migrations.AddField(
            model_name="commission",
            name="work",
            field=models.OneToOneField(
                editable=False,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="commission",
                to="inventory.work",
            ),
        ),
    ]
