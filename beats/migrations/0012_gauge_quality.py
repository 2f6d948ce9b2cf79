"""Settings of the quality control of readings, and what each gauge has shown so far."""

from django.db import migrations, models
from django.db.models import Max, Min, Q


def fill(apps, schema_editor):
    """The range of the readings not distrusted. Flat runs are counted from the next reading on."""
    Gauge, Reading = apps.get_model("beats", "Gauge"), apps.get_model("beats", "Reading")
    believed = Reading.objects.filter(Q(trusted__isnull=True) | Q(trusted=True)).order_by()
    ranges = believed.values("gauge").annotate(low=Min("level_m"), high=Max("level_m"))
    for each in ranges.iterator():
        Gauge.objects.filter(pk=each["gauge"]).update(lowest_m=each["low"], highest_m=each["high"])


def _number(default, help_text, kind=models.PositiveSmallIntegerField):
    return kind(default=default, db_default=default, help_text=help_text)


class Migration(migrations.Migration):
    dependencies = [("beats", "0011_sign_out_everywhere")]
    operations = [
        *(
            migrations.AddField(model_name="gauge", name=name, field=field)
            for name, field in {
                "fall_step_m": _number(
                    0.25, "A larger fall in a quarter of an hour must be confirmed", models.FloatField
                ),
                "confirm_readings": _number(2, "Further readings that confirm a fall, or a level after a silence"),
                "flat_after_hours": _number(
                    24, "Flat for so long, and longer than usual here: it may be stuck"
                ),
                "lowest_m": models.FloatField(null=True, help_text="Lowest level believed so far"),
                "highest_m": models.FloatField(null=True, help_text="Highest level believed so far"),
                "flat_m": models.FloatField(
                    null=True, help_text="Level of the run of equal readings that ends with the newest"
                ),
                "flat_since": models.DateTimeField(null=True),
                "flat_last_at": models.DateTimeField(null=True),
                "flat_count": models.PositiveIntegerField(default=0, db_default=0),
                "longest_flat_minutes": _number(
                    0, "Longest run of equal readings that is usual here", models.PositiveIntegerField
                ),
                "seen_since": models.DateTimeField(
                    null=True, help_text="First reading the flat runs were counted from"
                ),
            }.items()
        ),
        *(
            migrations.AddConstraint(
                model_name="gauge", constraint=models.CheckConstraint(condition=condition, name=name)
            )
            for name, condition in {
                "gauge_fall_step_range": Q(fall_step_m__gte=0.01, fall_step_m__lte=50),
                "gauge_confirm_readings_range": Q(confirm_readings__gte=1, confirm_readings__lte=20),
                "gauge_flat_after_range": Q(flat_after_hours__gte=1, flat_after_hours__lte=720),
            }.items()
        ),
        migrations.RunPython(fill, migrations.RunPython.noop, elidable=True),
    ]
