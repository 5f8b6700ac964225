"""An allowance for weather of one stay, and from which gauge reading an allowance for a time was taken.

The triggers of the trail name the columns, so they are made anew.
"""

import marina.base.constraints
import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('berths', '0005_card_batches'),
        ('vessels', '0001_initial'),
    ]

    operations = [
        migrations.RemoveConstraint(model_name='forecast', name='forecast_trail'),
        migrations.RemoveConstraint(model_name='stay', name='stay_trail'),
        migrations.AddField(
            model_name='forecast',
            name='reading',
            field=models.ForeignKey(blank=True, help_text='The gauge reading it was taken from; empty: it was forecast.', null=True, on_delete=django.db.models.deletion.PROTECT, related_name='allowed', to='berths.reading'),
        ),
        migrations.AddField(
            model_name='stay',
            name='surge_by',
            field=models.CharField(blank=True, max_length=60, verbose_name='who set it'),
        ),
        migrations.AddField(
            model_name='stay',
            name='surge_down',
            field=models.DecimalField(blank=True, decimal_places=4, help_text="For this stay alone; empty: the water's.", max_digits=9, null=True, verbose_name='allowance down'),
        ),
        migrations.AddField(
            model_name='stay',
            name='surge_reason',
            field=models.CharField(blank=True, max_length=200, verbose_name='why that allowance'),
        ),
        migrations.AddField(
            model_name='stay',
            name='surge_up',
            field=models.DecimalField(blank=True, decimal_places=4, help_text="For this stay alone; empty: the water's.", max_digits=9, null=True, verbose_name='allowance up'),
        ),
        migrations.AddConstraint(
            model_name='stay',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('surge_down__isnull', True), ('surge_reason', ''), ('surge_up__isnull', True)), models.Q(('surge_down__isnull', False), ('surge_up__isnull', False), models.Q(('surge_reason', ''), _negated=True)), _connector='OR'), name='stay_surge_both_or_none', violation_error_message='Give the allowance down and up with a reason, or none of them.'),
        ),
        migrations.AddConstraint(
            model_name='stay',
            constraint=models.CheckConstraint(condition=models.Q(('surge_up__gte', 0), ('surge_up__lte', 20)), name='stay_surge_up_plausible', violation_error_message='Surge up must be at least 0 and at most 20 m.'),
        ),
        migrations.AddConstraint(
            model_name='stay',
            constraint=models.CheckConstraint(condition=models.Q(('surge_down__gte', 0), ('surge_down__lte', 20)), name='stay_surge_down_plausible', violation_error_message='Surge down must be at least 0 and at most 20 m.'),
        ),
        migrations.AddConstraint(
            model_name='forecast',
            constraint=marina.base.constraints.Audited(label='forecast', leave_out=(), name='forecast_trail'),
        ),
        migrations.AddConstraint(
            model_name='stay',
            constraint=marina.base.constraints.Audited(label='stay', leave_out=(), name='stay_trail'),
        ),
    ]
