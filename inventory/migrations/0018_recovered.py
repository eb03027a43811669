from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('inventory', '0017_what_pours_were_made_of'),
        ('studio', '0008_closing_keeps_stock_value'),
    ]

    operations = [
        migrations.RemoveConstraint(
            model_name='movement',
            name='movement_in_brings_in',
        ),
        migrations.AlterField(
            model_name='movement',
            name='kind',
            field=models.CharField(choices=[('opening', 'Opening stock'), ('receipt', 'Received'), ('use', 'Used'), ('reclaim', 'Run-off kept'), ('recover', 'Recovered'), ('mix', 'Mixed'), ('decant', 'Decanted'), ('weigh_in', 'Weighed in'), ('waste', 'Thrown away'), ('return', 'Sent back'), ('respread', 'Average cost brought level'), ('reversal', 'Reversed')], max_length=8),
        ),
        migrations.AddConstraint(
            model_name='movement',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('kind__in', ['opening', 'receipt', 'reclaim', 'recover']), _negated=True), models.Q(('quantity__gt', 0), ('value__gte', 0)), _connector='OR'), name='movement_in_brings_in'),
        ),
    ]
