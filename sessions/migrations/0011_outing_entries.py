"""Who entered a check-out, an undo, or anything a keeper entered for an angler."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from beats.shared.stones import lay, lift, through

POLICIES = {"fishing_sessions_outingentry": through("fishing_sessions_outing", "outing_id")}


class Migration(migrations.Migration):
    dependencies = [
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
        ("fishing_sessions", "0010_offline_entries"),
    ]
    operations = [
        migrations.CreateModel(
            name="OutingEntry",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "act",
                    models.CharField(
                        choices=[
                            ("check_in", "Check In"),
                            ("more_time", "More Time"),
                            ("check_out", "Check Out"),
                            ("undo", "Undo"),
                        ],
                        max_length=10,
                    ),
                ),
                ("at", models.DateTimeField()),
                ("by_name", models.CharField(blank=True, max_length=120)),
                ("by_angler", models.BooleanField()),
                ("reported_by", models.CharField(blank=True, help_text="Who told the keeper", max_length=80)),
                (
                    "reported_via",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("telephone", "Telephone"),
                            ("text", "Text"),
                            ("radio", "Radio"),
                            ("in_person", "In Person"),
                        ],
                        help_text="By what they told them",
                        max_length=10,
                    ),
                ),
                (
                    "heard_before_at",
                    models.DateTimeField(
                        help_text="When the angler was last heard from before a check-out; an undo restores it",
                        null=True,
                    ),
                ),
                (
                    "by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "outing",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="entries",
                        to="fishing_sessions.outing",
                    ),
                ),
            ],
            options={"verbose_name_plural": "outing entries"},
        ),
        migrations.AddIndex(
            model_name="outingentry", index=models.Index(fields=["act", "at"], name="outing_entries_by_act")
        ),
        migrations.AddConstraint(
            model_name="outingentry",
            constraint=models.CheckConstraint(
                condition=models.Q(("by_angler", False), models.Q(("reported_by", ""), ("reported_via", "")), _connector="OR"),
                name="fishing_sessions_outingentry_report_by_keeper",
            ),
        ),
        migrations.AlterField(
            model_name="phonenote",
            name="act",
            field=models.CharField(
                choices=[
                    ("in", "check-in"),
                    ("out", "off the water"),
                    ("fine", "all is well"),
                    ("late", "more time"),
                    ("undo", "check-out undone"),
                ],
                max_length=4,
            ),
        ),
        migrations.RunPython(lay(POLICIES), lift(POLICIES)),
    ]
