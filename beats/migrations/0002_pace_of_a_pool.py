"""How a pool is fished down, where its owner knows better than common practice. Old pools say nothing."""

from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('beats', '0001_first'),
    ]

    operations = [
        migrations.AddField(
            model_name='pool',
            name='step_m',
            field=models.FloatField(help_text='Between casts; null is common practice, here and below', null=True),
        ),
        migrations.AddField(
            model_name='pool',
            name='cycle_s',
            field=models.FloatField(help_text='One cast, its swing and the line gathered', null=True),
        ),
        migrations.AddField(
            model_name='pool',
            name='short_casts',
            field=models.PositiveSmallIntegerField(help_text='At the neck, lengthening the line', null=True),
        ),
        migrations.AddField(
            model_name='pool',
            name='behind_m',
            field=models.FloatField(help_text='What the next rod leaves to the one in front', null=True),
        ),
        migrations.AddConstraint(
            model_name='pool',
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(('step_m__isnull', True), ('step_m__gt', 0), _connector='OR'),
                    models.Q(('cycle_s__isnull', True), ('cycle_s__gt', 0), _connector='OR'),
                    models.Q(('behind_m__isnull', True), ('behind_m__gt', 0), _connector='OR'),
                ),
                name='a_pace_goes_forward',
            ),
        ),
    ]
