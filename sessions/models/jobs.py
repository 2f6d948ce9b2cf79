"""A rota being worked out in the background: asked for, taken by a worker, watched, or called off."""

from django.db import models
from django.db.models import Q

from beats.models import Beat
from beats.shared.once import MadeOnce
from sessions.models.rotas import Rota


class RotaJob(MadeOnce):
    """One rota to work out. A worker holds it for a short lease, renewed with every word of progress."""

    class State(models.TextChoices):
        WAITING = "waiting"
        WORKING = "working"
        DONE = "done"
        REFUSED = "refused"
        CALLED_OFF = "called_off"

    OPEN = (State.WAITING, State.WORKING)

    beat = models.ForeignKey(Beat, on_delete=models.CASCADE, related_name="rota_jobs")
    first_on = models.DateField()
    level_m = models.FloatField(null=True)
    state = models.CharField(max_length=10, choices=State, default=State.WAITING)
    progress = models.CharField(max_length=120, blank=True)
    calling_off = models.BooleanField(default=False)
    lease_until = models.DateTimeField(null=True)
    tries = models.PositiveSmallIntegerField(default=0)
    asked_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True)
    refusal = models.TextField(blank=True)
    rota = models.ForeignKey(Rota, on_delete=models.SET_NULL, null=True, related_name="+")

    class Meta(MadeOnce.Meta):
        indexes = [
            models.Index(fields=["id"], condition=Q(state__in=["waiting", "working"]), name="rota_jobs_to_do")
        ]

    def __str__(self) -> str:
        return f"rota of {self.beat} for {self.first_on}: {self.state}"
