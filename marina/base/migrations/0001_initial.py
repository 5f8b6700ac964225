import django.contrib.auth.validators
import django.db.models.deletion
import django.utils.timezone
import marina.base.constraints
import marina.base.models
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    initial = True

    dependencies = [
        ('auth', '0012_alter_user_first_name_max_length'),
    ]

    operations = [
        migrations.CreateModel(
            name='Trail',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('table', models.CharField(max_length=60)),
                ('row', models.CharField(max_length=40)),
                ('old', models.JSONField(blank=True, null=True)),
                ('new', models.JSONField(blank=True, null=True)),
                ('who', models.BigIntegerField(blank=True, help_text='Number of the user; null: nobody was signed in.', null=True)),
                ('when', models.DateTimeField()),
            ],
            options={
                'verbose_name_plural': 'trail',
                'ordering': ['-id'],
                'indexes': [models.Index(fields=['table', 'row'], name='trail_of_row')],
                'constraints': [marina.base.constraints.Unchanging(fields=(), name='trail_kept')],
            },
        ),
        migrations.CreateModel(
            name='User',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('password', models.CharField(max_length=128, verbose_name='password')),
                ('last_login', models.DateTimeField(blank=True, null=True, verbose_name='last login')),
                ('is_superuser', models.BooleanField(default=False, help_text='Designates that this user has all permissions without explicitly assigning them.', verbose_name='superuser status')),
                ('username', models.CharField(error_messages={'unique': 'A user with that username already exists.'}, help_text='Required. 150 characters or fewer. Letters, digits and @/./+/-/_ only.', max_length=150, unique=True, validators=[django.contrib.auth.validators.UnicodeUsernameValidator()], verbose_name='username')),
                ('first_name', models.CharField(blank=True, max_length=150, verbose_name='first name')),
                ('last_name', models.CharField(blank=True, max_length=150, verbose_name='last name')),
                ('email', models.EmailField(blank=True, max_length=254, verbose_name='email address')),
                ('is_staff', models.BooleanField(default=False, help_text='Designates whether the user can log into this admin site.', verbose_name='staff status')),
                ('is_active', models.BooleanField(default=True, help_text='Designates whether this user should be treated as active. Unselect this instead of deleting accounts.', verbose_name='active')),
                ('date_joined', models.DateTimeField(default=django.utils.timezone.now, verbose_name='date joined')),
                ('role', models.CharField(choices=[('harbourmaster', 'harbourmaster'), ('hand', 'dock hand'), ('holder', 'berth holder')], default='holder', max_length=20)),
                ('units', models.CharField(blank=True, choices=[('m', 'metres'), ('ft', 'feet and inches')], help_text='Empty: as the house rules have it.', max_length=2)),
                ('words', models.CharField(blank=True, choices=[('uk', 'UK'), ('us', 'US')], help_text='Empty: as the house rules have it.', max_length=2)),
                ('groups', models.ManyToManyField(blank=True, help_text='The groups this user belongs to. A user will get all permissions granted to each of their groups.', related_name='user_set', related_query_name='user', to='auth.group', verbose_name='groups')),
                ('user_permissions', models.ManyToManyField(blank=True, help_text='Specific permissions for this user.', related_name='user_set', related_query_name='user', to='auth.permission', verbose_name='user permissions')),
            ],
            options={
                'verbose_name': 'user',
                'verbose_name_plural': 'users',
                'ordering': ['username'],
                'abstract': False,
                'constraints': [models.CheckConstraint(condition=models.Q(('role__in', ['harbourmaster', 'hand', 'holder'])), name='user_role_listed', violation_error_message='Role must be one of: harbourmaster, hand, holder.'), models.CheckConstraint(condition=models.Q(('units__in', ['m', 'ft', ''])), name='user_units_listed', violation_error_message='Units must be one of: m, ft.'), models.CheckConstraint(condition=models.Q(('words__in', ['uk', 'us', ''])), name='user_words_listed', violation_error_message='Words must be one of: uk, us.'), models.CheckConstraint(condition=models.Q(models.Q(('is_staff', True), ('is_superuser', True), ('role', 'harbourmaster')), models.Q(models.Q(('role', 'harbourmaster'), _negated=True), ('is_staff', False), ('is_superuser', False)), _connector='OR'), name='user_flags_follow_role', violation_error_message='Only a harbourmaster works in the back office.'), marina.base.constraints.Audited(label='user', leave_out=('password', 'last_login'), name='user_trail')],
            },
            managers=[
                ('objects', marina.base.models.Users()),
            ],
        ),
        migrations.CreateModel(
            name='HouseRule',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.CharField(max_length=40, unique=True)),
                ('value', models.JSONField(blank=True, null=True)),
                ('reason', models.CharField(blank=True, max_length=300)),
                ('by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('since', models.DateTimeField(default=django.utils.timezone.now)),
            ],
            options={
                'ordering': ['key'],
                'constraints': [marina.base.constraints.Audited(label='house rule', leave_out=(), name='house_rule_trail')],
            },
        ),
    ]
