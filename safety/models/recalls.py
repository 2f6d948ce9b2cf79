"""Rods called off the water, and the warnings of public bodies that may call them."""

from django.db import models
from django.db.models import F, Q

from beats.models import Beat, Fishery
from beats.shared.once import MadeOnce
from sessions.models import Outing


class Recall(MadeOnce):
    """Rods called off the water: by hand or by condition. `pools` lists ids; empty means the whole beat."""

    class Cause(models.TextChoices):
        HAND = "hand"
        LEVEL = "level"
        RISE = "rise"
        POOL = "pool"
        TIDE = "tide"
        DARK = "dark"
        WARNING = "warning"

    beat = models.ForeignKey(Beat, on_delete=models.PROTECT, related_name="recalls")
    pools = models.JSONField(default=list, blank=True)
    cause = models.CharField(max_length=8, choices=Cause, default=Cause.HAND)
    reason = models.CharField(max_length=200)
    called_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True)

    class Meta(MadeOnce.Meta):
        constraints = [
            *MadeOnce.Meta.constraints,
            models.UniqueConstraint(
                fields=["beat", "cause"], condition=Q(ended_at__isnull=True), name="one_recall_a_cause_at_a_time"
            ),
        ]

    def __str__(self) -> str:
        return f"recall {self.pk} of {self.beat}: {self.reason}"


class RecallCall(models.Model):
    """One rod called by one recall: told when, answered when, and by when the watch wants to hear more."""

    recall = models.ForeignKey(Recall, on_delete=models.CASCADE, related_name="calls")
    outing = models.ForeignKey(Outing, on_delete=models.CASCADE, related_name="calls")
    told_at = models.DateTimeField()
    answered_at = models.DateTimeField(null=True)
    due_at = models.DateTimeField(help_text="By when they answer, or, once they did, are out of the water")
    number = models.PositiveSmallIntegerField(default=1)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["recall", "outing"], name="one_call_a_rod")]

    def __str__(self) -> str:
        return f"{self.outing} called by {self.recall_id}"


class AreaWarning(MadeOnce):
    """A weather or flood warning of a public body, entered by a keeper for the whole water."""

    class Kind(models.TextChoices):
        WEATHER = "weather"
        FLOOD = "flood"

    class Level(models.TextChoices):
        YELLOW = "yellow"
        AMBER = "amber"
        RED = "red"
        ALERT = "alert"
        WARNING = "warning"
        SEVERE = "severe"

    fishery = models.ForeignKey(Fishery, on_delete=models.CASCADE, related_name="warnings")
    kind = models.CharField(max_length=8, choices=Kind)
    level = models.CharField(max_length=8, choices=Level)
    text = models.CharField(max_length=120, help_text="What it warns of")
    from_at = models.DateTimeField()
    until_at = models.DateTimeField()
    entered_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, help_text="When a keeper took it back")

    class Meta(MadeOnce.Meta):
        constraints = [
            *MadeOnce.Meta.constraints,
            models.CheckConstraint(condition=Q(until_at__gt=F("from_at")), name="a_warning_ends_after_it_begins"),
            models.CheckConstraint(
                condition=Q(kind="weather", level__in=["yellow", "amber", "red"])
                | Q(kind="flood", level__in=["alert", "warning", "severe"]),
                name="a_warning_has_a_level_of_its_kind",
            ),
        ]
        indexes = [models.Index(fields=["fishery", "until_at"], name="warnings_by_end")]

    def __str__(self) -> str:
        return f"{self.level} {self.kind} for {self.fishery}"
