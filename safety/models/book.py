"""Incidents, kept, and the pulse of the watch itself."""

from django.db import models

from beats.models import Fishery
from beats.shared.once import MadeOnce
from sessions.models import Outing


class Incident(MadeOnce):
    """What happened, or nearly did. Its timeline is a copy without telephone numbers or addresses of mail,
    so that it outlives the personal facts it came from."""

    class Kind(models.TextChoices):
        ALARM = "alarm"
        NEAR_MISS = "near_miss"

    fishery = models.ForeignKey(Fishery, on_delete=models.CASCADE, related_name="incidents")
    outing = models.ForeignKey(Outing, on_delete=models.SET_NULL, null=True, related_name="incidents")
    kind = models.CharField(max_length=10, choices=Kind)
    title = models.CharField(max_length=200)
    what_happened = models.TextField(blank=True)
    opened_at = models.DateTimeField()
    timeline = models.JSONField(default=list)

    class Meta(MadeOnce.Meta):
        pass

    def __str__(self) -> str:
        return self.title


class Pulse(models.Model):
    """Proof that a loop of the watch is alive: when it last finished a round."""

    name = models.CharField(max_length=40, primary_key=True)
    beaten_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.name} at {self.beaten_at}"
