"""The rota: which rod fishes which pool in which part of which day."""

from django.db import models
from django.db.models import Q

from beats.models import Beat, DayPart, Pool
from beats.shared.once import MadeOnce
from bookings.models import Guest


class Rota(MadeOnce):
    """A worked-out week of one beat. A published one is never edited, only superseded."""

    class Status(models.TextChoices):
        DRAFT = "draft"
        PUBLISHED = "published"
        SUPERSEDED = "superseded"

    beat = models.ForeignKey(Beat, on_delete=models.PROTECT, related_name="rotas")
    first_on = models.DateField(help_text="The Monday")
    version = models.PositiveIntegerField()
    status = models.CharField(max_length=10, choices=Status, default=Status.DRAFT)
    replaces = models.ForeignKey("self", on_delete=models.PROTECT, null=True, related_name="mended_by")
    wishes = models.JSONField(default=dict, help_text="The level given, and turns pinned and barred by hand")
    certificate = models.JSONField()
    made_at = models.DateTimeField()
    published_at = models.DateTimeField(null=True)

    class Meta(MadeOnce.Meta):
        constraints = [
            *MadeOnce.Meta.constraints,
            models.UniqueConstraint(fields=["beat", "first_on", "version"], name="one_rota_of_a_version"),
            models.UniqueConstraint(
                fields=["beat", "first_on"], condition=Q(status="published"), name="one_published_rota_a_week"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.beat}, week of {self.first_on}, version {self.version}"


class Turn(models.Model):
    """One rod on one pool in one part of one day."""

    rota = models.ForeignKey(Rota, on_delete=models.CASCADE, related_name="turns")
    day = models.DateField()
    part = models.ForeignKey(DayPart, on_delete=models.PROTECT, related_name="turns")
    rod = models.PositiveSmallIntegerField()
    guest = models.ForeignKey(Guest, on_delete=models.PROTECT, null=True, related_name="turns")
    sharer = models.ForeignKey(Guest, on_delete=models.PROTECT, null=True, related_name="shared_turns")
    pool = models.ForeignKey(Pool, on_delete=models.PROTECT, related_name="turns")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["rota", "day", "part", "rod"], name="one_turn_a_rod_a_part"),
        ]
        indexes = [models.Index(fields=["day", "id"], name="turns_by_day")]  # the order of every page of them

    def __str__(self) -> str:
        return f"{self.day} {self.part}: rod {self.rod} on {self.pool}"
