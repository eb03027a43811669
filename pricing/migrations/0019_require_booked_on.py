from django.db import migrations, models

BOOKED = "The day that it counts on in the books."


class Migration(migrations.Migration):

    dependencies = [("pricing", "0018_fill_booked_on")]

    operations = [
        migrations.AlterField(
            model_name="payment",
            name="booked_on",
            field=models.DateField(help_text=BOOKED),
        ),
        migrations.AlterField(
            model_name="sale",
            name="booked_on",
            field=models.DateField(help_text=BOOKED),
        ),
        migrations.RemoveConstraint(model_name="sale", name="sale_refunded_on_a_day"),
        migrations.AddConstraint(
            model_name="sale",
            constraint=models.CheckConstraint(
                condition=models.Q(refunded_at=None, refunded_on=None, refund_booked_on=None)
                | models.Q(
                    refunded_at__isnull=False,
                    refunded_on__isnull=False,
                    refund_booked_on__isnull=False,
                ),
                name="sale_refunded_on_a_day",
            ),
        ),
    ]
