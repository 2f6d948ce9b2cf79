"""Letters about weeks held for tenants; what an import sent and left out."""

import uuid

import django.db.models.deletion
from django.db import migrations, models

from beats.shared.stones import lay, lift, through

STONES = {"bookings_tenancynotice": through("bookings_lettingseason", "season_id")}


class Migration(migrations.Migration):

    dependencies = [
        ('bookings', '0009_agreed_prices'),
    ]

    operations = [
        migrations.AddField(
            model_name='letimport',
            name='letters',
            field=models.PositiveIntegerField(help_text='E-mails asked for; null: before this was kept', null=True),
        ),
        migrations.AddField(
            model_name='letimport',
            name='skipped',
            field=models.JSONField(db_default=[], default=list, help_text='Rows left out: row and text'),
        ),
        migrations.CreateModel(
            name='TenancyNotice',
            fields=[
                ('state', models.CharField(choices=[('waiting', 'Waiting'), ('sending', 'Sending'), ('sent', 'Sent'), ('given_up', 'Given Up'), ('not_needed', 'Not Needed')], default='waiting', max_length=10)),
                ('written_at', models.DateTimeField()),
                ('next_try_at', models.DateTimeField()),
                ('lease', models.UUIDField(editable=False, null=True)),
                ('attempts', models.PositiveSmallIntegerField(default=0)),
                ('sent_at', models.DateTimeField(null=True)),
                ('last_fault', models.CharField(blank=True, max_length=300)),
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('recipient', models.CharField(blank=True, max_length=254)),
                ('subject', models.CharField(blank=True, max_length=200)),
                ('guest', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='tenancy_notices', to='bookings.guest')),
                ('season', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='notices', to='bookings.lettingseason')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.AddField(
            model_name='offer',
            name='notice',
            field=models.ForeignKey(help_text='The first letter', null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='offers', to='bookings.tenancynotice'),
        ),
        migrations.AddField(
            model_name='offer',
            name='reminder',
            field=models.ForeignKey(null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='reminded_offers', to='bookings.tenancynotice'),
        ),
        migrations.AddIndex(
            model_name='tenancynotice',
            index=models.Index(condition=models.Q(('state__in', ['waiting', 'sending'])), fields=['next_try_at'], name='bookings_tenancynotice_to_send'),
        ),
        migrations.RunPython(lay(STONES), lift(STONES)),
    ]
