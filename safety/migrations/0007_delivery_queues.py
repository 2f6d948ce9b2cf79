"""Classes of messages, whose they are, and how one that did not arrive was dealt with."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models
from django.db.models import OuterRef, Subquery

NOTICE, DRILL = 2, 3


def fill_in(apps, schema_editor):  # noqa: ARG001 - Django's signature
    """Class and fishery of what is still to leave, or did not; what has gone needs neither."""
    rows = apps.get_model("safety", "Delivery").objects.exclude(state__in=["sent", "delivered", "not_needed"])
    rows.filter(about__in=["reminder", "all_clear"]).update(priority=NOTICE)
    rows.filter(about="drill").update(priority=DRILL)
    ways = (
        ("alarm", "safety", "Alarm", "outing__beat__fishery"),
        ("outing", "fishing_sessions", "Outing", "beat__fishery"),
        ("recall", "safety", "Recall", "beat__fishery"),
        ("drill", "safety", "Drill", "fishery"),
    )
    for column, app, model, way in ways:
        of = apps.get_model(app, model).objects.filter(pk=OuterRef(column)).values(way)[:1]
        rows.filter(fishery__isnull=True, **{f"{column}__isnull": False}).update(fishery=Subquery(of))


class Migration(migrations.Migration):
    dependencies = [
        ("beats", "0011_sign_out_everywhere"),
        ("fishing_sessions", "0008_the_wall"),
        ("safety", "0006_angler_messages"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.RemoveIndex(
            model_name="delivery",
            name="deliveries_to_send",
        ),
        migrations.RemoveIndex(
            model_name="delivery",
            name="deliveries_not_gone",
        ),
        migrations.AddField(
            model_name="delivery",
            name="closed_at",
            field=models.DateTimeField(help_text="When its failure was dealt with", null=True),
        ),
        migrations.AddField(
            model_name="delivery",
            name="closed_by",
            field=models.ForeignKey(
                db_index=False,
                null=True,
                on_delete=django.db.models.deletion.SET_NULL,
                related_name="+",
                to=settings.AUTH_USER_MODEL,
            ),
        ),
        migrations.AddField(
            model_name="delivery",
            name="closing",
            field=models.CharField(
                blank=True,
                choices=[
                    ("acknowledged", "Acknowledged"),
                    ("corrected", "Address corrected"),
                    ("expired", "No longer matters"),
                ],
                db_default="",
                default="",
                max_length=12,
            ),
        ),
        migrations.AddField(
            model_name="delivery",
            name="failed_at",
            field=models.DateTimeField(help_text="When it last failed", null=True),
        ),
        migrations.AddField(
            model_name="delivery",
            name="fault_kind",
            field=models.CharField(
                blank=True,
                choices=[
                    ("address", "This address was refused"),
                    ("server", "The server answered with an error"),
                    ("channel", "The server could not be reached, or did not let us in"),
                ],
                db_default="",
                default="",
                max_length=8,
            ),
        ),
        migrations.AddField(
            model_name="delivery",
            name="fishery",
            field=models.ForeignKey(
                db_index=False,
                help_text="Whose message it is: fisheries take turns at a channel",
                null=True,
                on_delete=django.db.models.deletion.CASCADE,
                related_name="+",
                to="beats.fishery",
            ),
        ),
        migrations.AddField(
            model_name="delivery",
            name="priority",
            field=models.PositiveSmallIntegerField(
                db_default=1, default=1, help_text="Lower leaves first: see Priority"
            ),
        ),
        migrations.AddIndex(
            model_name="delivery",
            index=models.Index(
                condition=models.Q(("state__in", ["waiting", "sending"])),
                fields=["channel", "priority", "next_try_at"],
                name="safety_delivery_to_send",
            ),
        ),
        migrations.AddIndex(
            model_name="delivery",
            index=models.Index(
                condition=models.Q(
                    models.Q(("state__in", ["sent", "delivered", "not_needed"]), _negated=True),
                    ("closed_at__isnull", True),
                ),
                fields=["written_at"],
                name="safety_delivery_unclosed",
            ),
        ),
        migrations.RunPython(fill_in, migrations.RunPython.noop),
    ]
