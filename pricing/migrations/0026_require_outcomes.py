from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [("pricing", "0025_fill_outcomes")]

    operations = [
        migrations.AddConstraint(
            model_name='finishedpiece',
            constraint=models.CheckConstraint(condition=models.Q(('state', 'undone'), models.Q(('state', 'failed'), ('verdict', 'failed')), models.Q(('state', 'good'), models.Q(('verdict', 'failed'), _negated=True)), _connector='OR'), name='piece_failed_is_judged_so'),
        ),
    ]
