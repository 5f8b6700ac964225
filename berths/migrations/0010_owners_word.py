"""What owners tell the office, with pictures; and a flag that was accepted until a time may be accepted anew."""

import django.db.models.deletion
import marina.base.constraints
import uuid
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('berths', '0009_what_got_worse'),
        ('vessels', '0002_line_life'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.RemoveConstraint(model_name='picture', name='picture_kept'),
        migrations.CreateModel(
            name='OwnersWord',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('client_id', models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ('at', models.DateTimeField(help_text='When it was done, not when it was sent.')),
                ('kind', models.CharField(choices=[('worry', 'a worry'), ('changed', 'a line was changed'), ('coming', 'will come')], max_length=10)),
                ('text', models.CharField(blank=True, max_length=500)),
                ('answer', models.CharField(blank=True, max_length=500)),
                ('answered_at', models.DateTimeField(blank=True, null=True)),
            ],
            options={
                'ordering': ['-at', '-id'],
            },
        ),
        migrations.RemoveConstraint(
            model_name='flagaccepted',
            name='flag_accepted_once',
        ),
        migrations.AlterField(
            model_name='picture',
            name='stay',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='pictures', to='berths.stay'),
        ),
        migrations.AddConstraint(
            model_name='flagaccepted',
            constraint=models.UniqueConstraint(condition=models.Q(('until__isnull', True)), fields=('tie_up', 'code', 'place'), name='flag_accepted_once', violation_error_message='This flag has been accepted already.'),
        ),
        migrations.AddConstraint(
            model_name='flagaccepted',
            constraint=models.UniqueConstraint(fields=('tie_up', 'code', 'place', 'until'), name='flag_accepted_once_until', violation_error_message='This flag has been accepted until then already.'),
        ),
        migrations.AddConstraint(
            model_name='flagaccepted',
            constraint=models.CheckConstraint(condition=models.Q(('until__isnull', True), ('at__lt', models.F('until')), _connector='OR'), name='flag_accepted_until_later', violation_error_message='Accept it until a time that is still to come.'),
        ),
        migrations.AddField(
            model_name='ownersword',
            name='answered_by',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='ownersword',
            name='berth',
            field=models.ForeignKey(blank=True, help_text='Where she was.', null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='berths.berth'),
        ),
        migrations.AddField(
            model_name='ownersword',
            name='by',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='ownersword',
            name='line_set',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='owners_words', to='berths.lineset'),
        ),
        migrations.AddField(
            model_name='ownersword',
            name='position',
            field=models.ForeignKey(blank=True, help_text='The place of the set it is about.', null=True, on_delete=django.db.models.deletion.PROTECT, related_name='owners_words', to='berths.setposition'),
        ),
        migrations.AddField(
            model_name='ownersword',
            name='vessel',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='owners_words', to='vessels.vessel'),
        ),
        migrations.AddField(
            model_name='picture',
            name='word',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='pictures', to='berths.ownersword'),
        ),
        migrations.AddConstraint(
            model_name='picture',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('stay__isnull', True), ('word__isnull', False)), models.Q(('stay__isnull', False), ('word__isnull', True)), _connector='OR'), name='picture_of_stay_or_word', violation_error_message="A picture is of a stay or comes with an owner's word."),
        ),
        migrations.AddIndex(
            model_name='ownersword',
            index=models.Index(condition=models.Q(('answered_at__isnull', True)), fields=['at'], name='owners_word_open'),
        ),
        migrations.AddIndex(
            model_name='ownersword',
            index=models.Index(fields=['vessel', 'at'], name='owners_word_of_vessel'),
        ),
        migrations.AddConstraint(
            model_name='ownersword',
            constraint=models.CheckConstraint(condition=models.Q(('kind__in', ['worry', 'changed', 'coming'])), name='owners_word_kind_listed', violation_error_message='Kind must be one of: worry, changed, coming.'),
        ),
        migrations.AddConstraint(
            model_name='ownersword',
            constraint=models.CheckConstraint(condition=models.Q(('kind', 'coming'), models.Q(('text', ''), _negated=True), _connector='OR'), name='owners_word_says_what', violation_error_message='Say in a few words what it is.'),
        ),
        migrations.AddConstraint(
            model_name='ownersword',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('answer', ''), ('answered_at__isnull', True)), models.Q(('answered_at__isnull', False), models.Q(('answer', ''), _negated=True)), _connector='OR'), name='owners_word_answered_with_words', violation_error_message='An answer needs words.'),
        ),
        migrations.AddConstraint(
            model_name='ownersword',
            constraint=marina.base.constraints.Unchanging(fields=('kind', 'vessel', 'berth', 'line_set', 'position', 'text', 'at', 'by'), name='owners_word_kept'),
        ),
        migrations.AddConstraint(
            model_name='ownersword',
            constraint=marina.base.constraints.Audited(label="word of an owner", leave_out=(), name='owners_word_trail'),
        ),
        migrations.AddConstraint(
            model_name='picture',
            constraint=marina.base.constraints.Unchanging(name='picture_kept'),
        ),
    ]
