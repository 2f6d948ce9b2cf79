"""Messages that withdraw an all-clear after an undone check-out."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("safety", "0005_the_wall")]
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
                    ("resumed", "Resumed"),
                ],
                max_length=10,
            ),
        ),
    ]
