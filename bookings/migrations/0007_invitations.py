"""A guest entry may be declined, and is found by the address of an account not linked yet."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("beats", "0013_idempotency_records"), ("bookings", "0006_contact_details")]
    operations = [
        migrations.AddField(
            model_name="guest",
            name="declined_at",
            field=models.DateTimeField(help_text="When the person declined to link their account", null=True),
        ),
        migrations.AlterField(
            model_name="guest",
            name="user",
            field=models.ForeignKey(
                help_text="The account of the person, who linked it themselves; null: not linked", null=True,
                on_delete=django.db.models.deletion.SET_NULL, related_name="guests", to=settings.AUTH_USER_MODEL,
            ),
        ),
        migrations.AddIndex(
            model_name="guest",
            index=models.Index(
                condition=models.Q(
                    ("erased_at__isnull", True), ("user__isnull", True), models.Q(("email", ""), _negated=True)
                ),
                fields=["email"], name="guest_unlinked_email",
            ),
        ),
        migrations.AddConstraint(
            model_name="guest",
            constraint=models.CheckConstraint(
                condition=models.Q(("user__isnull", True), ("declined_at__isnull", True), _connector="OR"),
                name="guest_linked_or_declined",
            ),
        ),
    ]  # fmt: skip
