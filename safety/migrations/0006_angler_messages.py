"""Texts of anglers are kept word for word; a call for help keeps its words and is closed by a keeper."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from beats.shared.stones import lay, lift, mine

POLICIES = {"safety_anglermessage": mine()}


class Migration(migrations.Migration):
    dependencies = [
        ("safety", "0005_the_wall"),
        ("bookings", "0005_the_wall"),
        ("fishing_sessions", "0008_the_wall"),
        ("beats", "0009_the_wall"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.AddField(
            "alarm",
            "words",
            models.TextField(blank=True, db_default="", default="", help_text="What came with a call for help"),
        ),
        migrations.AddField(
            "alarm",
            "closed_at",
            models.DateTimeField(help_text="When a keeper closed a call for help", null=True),
        ),
        migrations.AddField(
            "alarm",
            "closed_by",
            models.ForeignKey(
                null=True,
                on_delete=django.db.models.deletion.SET_NULL,
                related_name="+",
                to=settings.AUTH_USER_MODEL,
            ),
        ),
        migrations.AddField(
            "alarm",
            "closed_note",
            models.CharField(blank=True, db_default="", default="", max_length=300),
        ),
        migrations.AlterField(
            "delivery",
            "about",
            models.CharField(
                choices=[
                    ("overdue", "Overdue"),
                    ("all_clear", "All Clear"),
                    ("reminder", "Reminder"),
                    ("recall", "Recall"),
                    ("drill", "Drill"),
                    ("message", "Message"),
                ],
                max_length=10,
            ),
        ),
        migrations.CreateModel(
            "AnglerMessage",
            [
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("sender", models.CharField(blank=True, help_text="The number it came from, E.164", max_length=20)),
                ("text", models.TextField(help_text="Every word, as it came")),
                ("received_at", models.DateTimeField()),
                ("outcome", models.CharField(help_text="What the service made of it", max_length=200)),
                ("understood", models.BooleanField(help_text="False: a person must read it")),
                (
                    "fishery",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="angler_messages",
                        to="beats.fishery",
                    ),
                ),
                (
                    "guest",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="text_messages",
                        to="bookings.guest",
                    ),
                ),
                (
                    "outing",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="text_messages",
                        to="fishing_sessions.outing",
                    ),
                ),
            ],
            options={
                "indexes": [
                    models.Index(fields=["fishery", "-received_at"], name="safety_messages_by_time"),
                    models.Index(fields=["outing", "-received_at"], name="safety_messages_by_outing"),
                ],
            },
        ),
        migrations.RunPython(lay(POLICIES), lift(POLICIES)),
    ]
