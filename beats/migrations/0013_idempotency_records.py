from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("beats", "0012_gauge_quality")]
    operations = [
        migrations.CreateModel(
            name="IdempotencyRecord",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("caller", models.CharField(max_length=40)),
                ("key_digest", models.CharField(max_length=64)),
                (
                    "fingerprint",
                    models.CharField(help_text="SHA-256 of method, path and body", max_length=64),
                ),
                ("status", models.PositiveSmallIntegerField(default=0, help_text="HTTP status of the answer")),
                ("answer", models.TextField(blank=True, default="", help_text="Encrypted; text, as a backup writes it")),
                ("created_at", models.DateTimeField()),
            ],
            options={
                "indexes": [models.Index(fields=["created_at"], name="beats_idempotency_created")],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("caller", "key_digest"), name="beats_idempotencyrecord_caller_key"
                    )
                ],
            },
        )
    ]
