"""Who did what, when, and what it was before: written in the same transaction as the deed."""

from django.conf import settings
from django.db import models


class AuditEntry(models.Model):
    """One deed. `by` is null for the service itself; rows are only ever added."""

    fishery = models.ForeignKey("beats.Fishery", on_delete=models.SET_NULL, null=True, related_name="+")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+")
    at = models.DateTimeField()
    verb = models.CharField(max_length=60)
    subject = models.CharField(max_length=80, help_text="table:id")
    before = models.JSONField(null=True)
    after = models.JSONField(null=True)

    class Meta:
        indexes = [models.Index(fields=["subject", "at"], name="audit_by_subject")]

    def __str__(self) -> str:
        return f"{self.at} {self.verb} {self.subject}"
