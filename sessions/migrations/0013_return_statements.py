"""What an owner states of a month, answers to the review, and who signed a return in which capacity."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from beats.shared.stones import lay, lift, mine

POLICIES = {"fishing_sessions_monthstatement": mine(), "fishing_sessions_reviewanswer": mine()}


class Migration(migrations.Migration):

    dependencies = [
        ('beats', '0013_idempotency_records'),
        ('fishing_sessions', '0012_plan_replaced_by'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.AddField(
            model_name='return',
            name='declaration',
            field=models.TextField(blank=True, db_default='', default='', help_text='As it stood when signed'),
        ),
        migrations.AddField(
            model_name='return',
            name='signer_address',
            field=models.CharField(blank=True, db_default='', default='', max_length=400),
        ),
        migrations.AddField(
            model_name='return',
            name='signer_capacity',
            field=models.CharField(blank=True, choices=[('owner', 'Owner'), ('occupier', 'Occupier'), ('agent', 'Agent')], db_default='', default='', max_length=8),
        ),
        migrations.AddField(
            model_name='return',
            name='signer_name',
            field=models.CharField(blank=True, db_default='', default='', max_length=120),
        ),
        migrations.CreateModel(
            name='MonthStatement',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('request_key', models.CharField(editable=False, max_length=80, null=True)),
                ('request_fingerprint', models.CharField(blank=True, editable=False, max_length=64)),
                ('season', models.PositiveSmallIntegerField()),
                ('month', models.PositiveSmallIntegerField()),
                ('record', models.CharField(choices=[('no_record', 'no record'), ('no_fishing', 'no fishing'), ('none_caught', 'fished, none caught')], max_length=11)),
                ('stated_at', models.DateTimeField()),
                ('fishery', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='month_statements', to='beats.fishery')),
                ('made_by', models.ForeignKey(db_index=False, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('stated_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'abstract': False,
                'indexes': [models.Index(fields=['fishery', 'season'], name='month_statements_by_season')],
                'constraints': [models.UniqueConstraint(fields=('made_by', 'request_key'), name='fishing_sessions_monthstatement_made_once'), models.CheckConstraint(condition=models.Q(('month__gte', 1), ('month__lte', 12)), name='fishing_sessions_monthstatement_month')],
            },
        ),
        migrations.CreateModel(
            name='ReviewAnswer',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('request_key', models.CharField(editable=False, max_length=80, null=True)),
                ('request_fingerprint', models.CharField(blank=True, editable=False, max_length=64)),
                ('season', models.PositiveSmallIntegerField()),
                ('code', models.CharField(max_length=30)),
                ('month', models.PositiveSmallIntegerField(null=True)),
                ('question', models.TextField(help_text='The question as it was asked')),
                ('reason', models.CharField(max_length=300)),
                ('answered_at', models.DateTimeField()),
                ('answered_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('fishery', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='review_answers', to='beats.fishery')),
                ('made_by', models.ForeignKey(db_index=False, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'abstract': False,
                'indexes': [models.Index(fields=['fishery', 'season'], name='review_answers_by_season')],
                'constraints': [models.UniqueConstraint(fields=('made_by', 'request_key'), name='fishing_sessions_reviewanswer_made_once'), models.CheckConstraint(condition=models.Q(('reason', ''), _negated=True), name='fishing_sessions_reviewanswer_reason')],
            },
        ),
        migrations.RunPython(lay(POLICIES), lift(POLICIES)),
    ]
