import django.core.validators
import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('inventory', '0018_recovered'),
        ('pricing', '0023_what_pours_were_made_of'),
        ('studio', '0008_closing_keeps_stock_value'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='Judgement',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('changed_at', models.DateTimeField(auto_now=True, db_index=True)),
                ('stage', models.CharField(choices=[('dry', 'Paint dry'), ('coated', 'Coated')], max_length=6)),
                ('verdict', models.CharField(choices=[('good', 'Good'), ('second', 'Sellable as second'), ('failed', 'Failed')], max_length=6)),
                ('faults', models.CharField(blank=True, help_text='Their codes, with a space between.', max_length=200)),
                ('cells', models.PositiveSmallIntegerField(blank=True, help_text='From 1 to 5, 5 the best; empty where nobody said.', null=True, validators=[django.core.validators.MinValueValidator(1), django.core.validators.MaxValueValidator(5)], verbose_name='cells')),
                ('composition', models.PositiveSmallIntegerField(blank=True, help_text='From 1 to 5, 5 the best; empty where nobody said.', null=True, validators=[django.core.validators.MinValueValidator(1), django.core.validators.MaxValueValidator(5)], verbose_name='composition')),
                ('note', models.TextField(blank=True)),
                ('judged_at', models.DateTimeField()),
            ],
            options={
                'ordering': ['judged_at', 'pk'],
            },
        ),
        migrations.RemoveConstraint(
            model_name='picture',
            name='picture_of_one_thing',
        ),
        migrations.AddField(
            model_name='finishedpiece',
            name='recovery',
            field=models.ForeignKey(blank=True, help_text='What brought its surface back to the shelf, once it was wiped.', null=True, on_delete=django.db.models.deletion.PROTECT, related_name='recovered_pieces', to='inventory.entry'),
        ),
        migrations.AddField(
            model_name='finishedpiece',
            name='verdict',
            field=models.CharField(blank=True, choices=[('good', 'Good'), ('second', 'Sellable as second'), ('failed', 'Failed')], default='', help_text='As judged last; empty until it is judged.', max_length=6),
        ),
        migrations.AddField(
            model_name='picture',
            name='piece',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.CASCADE, related_name='pictures', to='pricing.finishedpiece'),
        ),
        migrations.AddField(
            model_name='pour',
            name='judged_count',
            field=models.PositiveSmallIntegerField(default=0, verbose_name='pieces judged'),
        ),
        migrations.AlterField(
            model_name='pour',
            name='good_count',
            field=models.PositiveSmallIntegerField(default=1, help_text='All of them until they are judged; those that resin spoils later count here.', verbose_name='pieces not failed as paint'),
        ),
        migrations.AddConstraint(
            model_name='finishedpiece',
            constraint=models.CheckConstraint(condition=models.Q(('state', 'failed'), ('recovery', None), _connector='OR'), name='piece_recovered_has_failed'),
        ),
        migrations.AddConstraint(
            model_name='picture',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('commission__isnull', False), ('piece', None), ('piece_set', None), ('pour', None)), models.Q(('commission', None), ('piece', None), ('piece_set', None), ('pour__isnull', False)), models.Q(('commission', None), ('piece__isnull', False), ('piece_set', None), ('pour', None)), models.Q(('commission', None), ('piece', None), ('piece_set__isnull', False), ('pour', None)), _connector='OR'), name='picture_of_one_thing'),
        ),
        migrations.AddConstraint(
            model_name='picture',
            constraint=models.UniqueConstraint(fields=('piece', 'number'), name='piece_picture_once'),
        ),
        migrations.AddConstraint(
            model_name='pour',
            constraint=models.CheckConstraint(condition=models.Q(('judged_count__lte', models.F('count'))), name='pour_not_more_judged_than_poured'),
        ),
        migrations.AddField(
            model_name='judgement',
            name='by',
            field=models.ForeignKey(null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='judgement',
            name='coat',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='judgements', to='pricing.topcoating'),
        ),
        migrations.AddField(
            model_name='judgement',
            name='piece',
            field=models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='judgements', to='pricing.finishedpiece'),
        ),
        migrations.AddConstraint(
            model_name='judgement',
            constraint=models.UniqueConstraint(fields=('piece', 'stage'), name='piece_judged_once_a_stage'),
        ),
        migrations.AddConstraint(
            model_name='judgement',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('coat', None), ('stage', 'dry')), models.Q(('coat__isnull', False), ('stage', 'coated')), _connector='OR'), name='judgement_of_coated_names_the_coat'),
        ),
    ]
