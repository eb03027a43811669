import django.utils.timezone
from django.db import migrations, models

BOOKED = "The day that it counts on in the books."


class Migration(migrations.Migration):

    dependencies = [
        ("pricing", "0016_what_pours_taught"),
        ("studio", "0006_closing"),
    ]

    operations = [
        migrations.AddField(
            model_name="payment",
            name="booked_on",
            field=models.DateField(null=True, help_text=BOOKED),
        ),
        migrations.AddField(
            model_name="sale",
            name="booked_on",
            field=models.DateField(null=True, help_text=BOOKED),
        ),
        migrations.AddField(
            model_name="sale",
            name="refund_booked_on",
            field=models.DateField(blank=True, null=True, verbose_name="refund booked on"),
        ),
        # Without a default at first: when the rows that are there were recorded is not known.
        migrations.AddField(
            model_name="posting",
            name="recorded_at",
            field=models.DateTimeField(
                blank=True,
                editable=False,
                help_text="Not known of what was posted before this was kept.",
                null=True,
            ),
        ),
        migrations.AlterField(
            model_name="posting",
            name="recorded_at",
            field=models.DateTimeField(
                blank=True,
                default=django.utils.timezone.now,
                editable=False,
                help_text="Not known of what was posted before this was kept.",
                null=True,
            ),
        ),
    ]
