"""Codes of berths and names of piers once, whatever letters; what is out of use says why.

What was out of use without a reason gets the words that there was none.
"""

import django.db.models.functions.text
from django.db import migrations, models


def name_the_gap(apps, schema_editor):
    rows = apps.get_model("berths", "Fastening").objects.using(schema_editor.connection.alias)
    rows.filter(in_use=False, note="").update(note="reason not recorded")


class Migration(migrations.Migration):

    dependencies = [
        ('berths', '0002_berth_edge'),
    ]

    operations = [
        migrations.RunPython(name_the_gap, migrations.RunPython.noop),
        migrations.AddConstraint(
            model_name='berth',
            constraint=models.UniqueConstraint(django.db.models.functions.text.Lower('code'), name='berth_code_once', violation_error_message='There is a berth of that code already.'),
        ),
        migrations.AddConstraint(
            model_name='berth',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('code', ''), _negated=True), models.Q(('code__contains', '/'), _negated=True)), name='berth_code_in_an_address', violation_error_message='A berth needs a code, without a / in it: it stands in addresses.'),
        ),
        migrations.AddConstraint(
            model_name='fastening',
            constraint=models.CheckConstraint(condition=models.Q(('in_use', True), models.Q(('note', ''), _negated=True), _connector='OR'), name='fastening_out_of_use_says_why', violation_error_message='Out of use: say why, in the note.'),
        ),
        migrations.AddConstraint(
            model_name='pier',
            constraint=models.UniqueConstraint(django.db.models.functions.text.Lower('name'), name='pier_name_once', violation_error_message='There is a pier of that name already.'),
        ),
    ]
