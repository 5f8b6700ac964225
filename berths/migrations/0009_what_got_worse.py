"""Beside each tie-up what got worse against the one before it; kept as unchanged as the rest of its result."""


import marina.base.constraints
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('berths', '0008_line_use_of_a_good_line'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.RemoveConstraint(
            model_name='tieup',
            name='tie_up_kept',
        ),
        migrations.RemoveConstraint(
            model_name='tieup',
            name='tie_up_trail',
        ),
        migrations.AddField(
            model_name='tieup',
            name='compared',
            field=models.JSONField(blank=True, help_text='Against the one before: the ends of the water, and lines that got worse.', null=True),
        ),
        migrations.AddConstraint(
            model_name='tieup',
            constraint=marina.base.constraints.Unchanging(fields=('stay', 'line_set', 'sort', 'scenario', 'scenario_hash', 'verdict', 'engine_version', 'answer', 'compared', 'made_at'), name='tie_up_kept'),
        ),
        migrations.AddConstraint(
            model_name='tieup',
            constraint=marina.base.constraints.Audited(label='tie-up', leave_out=('scenario', 'verdict', 'flags', 'compared'), name='tie_up_trail'),
        ),
    ]
