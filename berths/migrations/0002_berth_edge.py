"""The edge one steps from, where no closed face tells it. The trail's trigger names the columns, so it is made anew."""

import marina.base.constraints
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("berths", "0001_initial")]

    operations = [
        migrations.RemoveConstraint(model_name="berth", name="berth_trail"),
        migrations.AddField(
            model_name="berth",
            name="edge_z",
            field=models.DecimalField(
                "edge one steps from",
                max_digits=9,
                decimal_places=4,
                null=True,
                blank=True,
                help_text="Above the datum. Empty: the top of the face, where it is a closed one.",
            ),
        ),
        migrations.AddConstraint(
            model_name="berth",
            constraint=models.CheckConstraint(
                name="berth_edge_z_plausible",
                condition=models.Q(("edge_z__gte", -100), ("edge_z__lte", 100)),
                violation_error_message="Edge z must be at least -100 and at most 100 m.",
            ),
        ),
        migrations.AddConstraint(
            model_name="berth",
            constraint=marina.base.constraints.Audited(label="berth", leave_out=(), name="berth_trail"),
        ),
    ]
