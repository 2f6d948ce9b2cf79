"""Kinds of message: a text to read, a check-in nobody may be watching, an all-clear withdrawn."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("safety", "0007_delivery_queues")]

    operations = [
        migrations.AlterField(
            model_name="delivery",
            name="about",
            field=models.CharField(
                choices=[
                    ("overdue", "Overdue"),
                    ("all_clear", "All Clear"),
                    ("reminder", "Reminder"),
                    ("recall", "Recall"),
                    ("drill", "Drill"),
                    ("message", "Message"),
                    ("check_in", "Check In"),
                    ("resumed", "Resumed"),
                ],
                max_length=10,
            ),
        ),
    ]
