import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("pricing", "0003_fill_works"), ("inventory", "0003_no_keys_of_work")]

    operations = [
        migrations.AlterField(
            model_name="commission",
            name="work",
            field=models.OneToOneField(
                editable=False,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="commission",
                to="inventory.work",
            ),
        ),
    ]
