from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("fishing_sessions", "0009_contact_details")]
    operations = [
        migrations.AlterField(
            model_name="phonenote",
            name="act",
            field=models.CharField(
                choices=[
                    ("in", "check-in"),
                    ("out", "off the water"),
                    ("fine", "all is well"),
                    ("late", "more time"),
                ],
                max_length=4,
            ),
        ),
        migrations.AddField(
            model_name="phonenote",
            name="due_back_at",
            field=models.DateTimeField(null=True, help_text="The time back that was entered, if one was"),
        ),
        migrations.AddField(
            model_name="phonenote",
            name="facts",
            field=models.JSONField(null=True, help_text="The rest of a check-in: beat, pool, company, car"),
        ),
    ]
