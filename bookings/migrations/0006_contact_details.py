"""Emergency contacts by e-mail, and wading grades that are not known. A grade that is known stays."""

from django.db import migrations, models


def most_careful_grade(apps, _schema_editor):
    """Going back, a grade that is not known becomes the most careful one."""
    apps.get_model("bookings", "Guest").objects.filter(wading_grade=None).update(wading_grade=0)


class Migration(migrations.Migration):

    dependencies = [
        ('bookings', '0005_the_wall'),
    ]

    operations = [
        migrations.AddField(
            model_name='guest',
            name='emergency_contact_email',
            field=models.EmailField(blank=True, db_default='', default='', max_length=254),
        ),
        migrations.AlterField(
            model_name='guest',
            name='wading_grade',
            field=models.PositiveSmallIntegerField(choices=[(0, 'from the bank'), (1, 'to the knee, firm bed'), (2, 'to the thigh'), (3, 'deep, fast or rough')], help_text='The hardest wading they may be sent to; null: not known', null=True),
        ),
        migrations.RunPython(migrations.RunPython.noop, most_careful_grade),
    ]
