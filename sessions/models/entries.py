"""What was entered about an outing, and by whom, where that was not the angler at the check-in page."""

from django.conf import settings
from django.db import models

from sessions.models.outings import Outing


class OutingEntry(models.Model):
    """One check-out, undo, or a check-in or new return time that a keeper entered. Only ever added.

    `at` is when the server received it. `by` is null where a signed text message asked. `reported_by` and
    `reported_via` are empty unless a keeper entered what somebody else reported.
    """

    class Act(models.TextChoices):
        CHECK_IN = "check_in"
        MORE_TIME = "more_time"
        CHECK_OUT = "check_out"
        UNDO = "undo"

    class Via(models.TextChoices):
        TELEPHONE = "telephone"
        TEXT = "text"
        RADIO = "radio"
        IN_PERSON = "in_person"

    outing = models.ForeignKey(Outing, on_delete=models.CASCADE, related_name="entries")
    act = models.CharField(max_length=10, choices=Act)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+")
    by_name = models.CharField(max_length=120, blank=True)
    by_angler = models.BooleanField()
    reported_by = models.CharField(max_length=80, blank=True, help_text="Who told the keeper")
    reported_via = models.CharField(max_length=10, blank=True, choices=Via, help_text="By what they told them")
    heard_before_at = models.DateTimeField(
        null=True, help_text="When the angler was last heard from before a check-out; an undo restores it"
    )

    class Meta:
        verbose_name_plural = "outing entries"
        constraints = [
            models.CheckConstraint(
                condition=models.Q(by_angler=False) | models.Q(reported_by="", reported_via=""),
                name="fishing_sessions_outingentry_report_by_keeper",
            )
        ]
        indexes = [models.Index(fields=["act", "at"], name="outing_entries_by_act")]

    def __str__(self) -> str:
        return f"{self.act} of outing {self.outing_id} at {self.at}"
