"""What a POST with an Idempotency-Key answered, kept for a while so that a retry gets the same answer."""

from django.db import models


class IdempotencyRecord(models.Model):
    """One answered POST of one caller.

    `caller` names the person or the machine; `key_digest` is the SHA-256 of their Idempotency-Key. `answer` is
    encrypted with a key that is derived from the Idempotency-Key and SECRET_KEY, so neither the table nor a backup
    shows what was answered. See `beats/shared/idempotent_views.py`.
    """

    caller = models.CharField(max_length=40)
    key_digest = models.CharField(max_length=64)
    fingerprint = models.CharField(max_length=64, help_text="SHA-256 of method, path and body")
    status = models.PositiveSmallIntegerField(default=0, help_text="HTTP status of the answer")
    answer = models.TextField(blank=True, default="", help_text="Encrypted; text, as a backup writes it")
    created_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["caller", "key_digest"], name="beats_idempotencyrecord_caller_key")
        ]
        indexes = [models.Index(fields=["created_at"], name="beats_idempotency_created")]

    def __str__(self) -> str:
        return f"{self.status} for {self.caller} at {self.created_at}"
