"""What a phone said, and when, by three clocks."""

from django.db import models

from bookings.models import Guest
from sessions.models.outings import Outing


class PhoneNote(models.Model):
    """One thing a guest's phone said, perhaps long after it was told.

    `said_at` is the phone's own clock, which may be hours wrong and decides nothing; `age_s` is how long the
    phone kept it, by a clock nobody can set; `received_at` is ours. `happened_at` is the last less the second.

    `outing` is the outing an entry counts for. For a check-in that arrived while another outing covered its time,
    it is that other outing, until a check-out shows that it ended before (`services/offline.py`).
    """

    class Act(models.TextChoices):
        IN = "in", "check-in"
        OUT = "out", "off the water"
        FINE = "fine", "all is well"
        LATE = "late", "more time"
        UNDO = "undo", "check-out undone"

    guest = models.ForeignKey(Guest, on_delete=models.CASCADE, related_name="phone_notes")
    key = models.CharField(max_length=80)
    act = models.CharField(max_length=4, choices=Act)
    said_at = models.DateTimeField(null=True)
    age_s = models.FloatField()
    received_at = models.DateTimeField()
    happened_at = models.DateTimeField()
    outing = models.ForeignKey(Outing, on_delete=models.SET_NULL, null=True, related_name="phone_notes")
    due_back_at = models.DateTimeField(null=True, help_text="The time back that was entered, if one was")
    facts = models.JSONField(null=True, help_text="The rest of a check-in: beat, pool, company, car")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["guest", "key"], name="a_phone_says_a_thing_once")]
        indexes = [models.Index(fields=["guest", "act", "happened_at"], name="phone_notes_by_guest")]

    def __str__(self) -> str:
        return f"{self.act} of {self.guest} at {self.happened_at}"
