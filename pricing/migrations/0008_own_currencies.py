from django.db import migrations, models

import pricing.models.shapes
import studio.validators


def currency(model):
    return migrations.AddField(
        model_name=model,
        name="currency",
        field=models.CharField(
            max_length=3, null=True, validators=[studio.validators.validate_currency]
        ),
    )


class Migration(migrations.Migration):
    """Make room for what a sale, a payment and a consignment note keep of the day they are of."""

    dependencies = [("pricing", "0007_topcoats_fail")]

    operations = [
        currency("consignment"),
        currency("payment"),
        currency("sale"),
        migrations.AddField(
            model_name="sale",
            name="tax_inclusive",
            field=models.BooleanField(
                help_text="As the studio showed its prices then.",
                null=True,
                verbose_name="prices shown with tax",
            ),
        ),
        migrations.AddField(
            model_name="sale",
            name="refunded_on",
            field=models.DateField(blank=True, null=True, verbose_name="money given back on"),
        ),
        migrations.AddField(
            model_name="saleline",
            name="booked",
            field=models.JSONField(
                blank=True,
                help_text="What the set was and had cost when it was refunded, so that its sale "
                "stays in the profit as it was. Not known of sales refunded before this was kept.",
                null=True,
                validators=[pricing.models.shapes.validate_booked],
            ),
        ),
    ]
