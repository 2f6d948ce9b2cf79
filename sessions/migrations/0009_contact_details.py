"""What the watch cannot do for an outing, and who expects the angler off the water."""

from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('fishing_sessions', '0008_the_wall'),
    ]

    operations = [
        migrations.AddField(
            model_name='outing',
            name='meeting_at',
            field=models.DateTimeField(help_text='When that person expects them', null=True),
        ),
        migrations.AddField(
            model_name='outing',
            name='meeting_person',
            field=models.CharField(blank=True, db_default='', default='', help_text='Who expects the angler off the water', max_length=120),
        ),
        migrations.AddField(
            model_name='outing',
            name='watch_limits',
            field=models.JSONField(db_default=[], default=list, help_text='What the watch could not do at check-in: see WatchLimit'),
        ),
        migrations.AddField(
            model_name='outing',
            name='watched_by_time_only',
            field=models.BooleanField(db_default=False, default=False, help_text='Nobody can ring the angler: only the time back is watched'),
        ),
    ]
