from django.db import migrations, models

import studio.validators


def currency(model):
    return migrations.AlterField(
        model_name=model,
        name="currency",
        field=models.CharField(max_length=3, validators=[studio.validators.validate_currency]),
    )


class Migration(migrations.Migration):
    dependencies = [("pricing", "0009_fill_currencies")]

    operations = [
        currency("consignment"),
        currency("payment"),
        currency("sale"),
        migrations.AlterField(
            model_name="sale",
            name="tax_inclusive",
            field=models.BooleanField(
                help_text="As the studio showed its prices then.",
                verbose_name="prices shown with tax",
            ),
        ),
        migrations.AddConstraint(
            model_name="sale",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("refunded_at", None), ("refunded_on", None)),
                    models.Q(("refunded_at__isnull", False), ("refunded_on__isnull", False)),
                    _connector="OR",
                ),
                name="sale_refunded_on_a_day",
            ),
        ),
    ]
