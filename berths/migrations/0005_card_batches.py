"""Cards printed in one go, and the berth as it stands on a card. The triggers name the columns, so they are made anew."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

import marina.base.constraints


class Migration(migrations.Migration):
    dependencies = [("berths", "0004_pictures"), migrations.swappable_dependency(settings.AUTH_USER_MODEL)]

    operations = [
        migrations.CreateModel(
            name="CardBatch",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("printed", models.DateTimeField()),
                ("words", models.CharField(help_text="What was asked for: 'Arrivals Thu 14 Oct'.", max_length=100)),
                ("paper", models.CharField(help_text="On what, in words: 'A4, four cards to cut'.", max_length=60)),
                ("pdf", models.BinaryField()),
                (
                    "by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "verbose_name_plural": "card batches",
                "ordering": ["-printed", "-id"],
                "constraints": [
                    marina.base.constraints.Unchanging(fields=(), name="card_batch_kept"),
                    marina.base.constraints.Audited(label="card batch", leave_out=(), name="card_batch_trail"),
                ],
            },
        ),
        migrations.RemoveConstraint(model_name="card", name="card_kept"),
        migrations.RemoveConstraint(model_name="card", name="card_trail"),
        migrations.AddField(
            model_name="card",
            name="berth_code",
            field=models.CharField(blank=True, default="", help_text="As it stands on the paper.", max_length=12),
            preserve_default=False,
        ),
        migrations.AddField(
            model_name="card",
            name="batch",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="cards",
                to="berths.cardbatch",
            ),
        ),
        migrations.AddConstraint(
            model_name="card",
            constraint=marina.base.constraints.Unchanging(
                fields=("tie_up", "stay", "number", "berth_code", "batch", "printed", "pdf"), name="card_kept"
            ),
        ),
        migrations.AddConstraint(
            model_name="card",
            constraint=marina.base.constraints.Audited(label="card", leave_out=(), name="card_trail"),
        ),
    ]
