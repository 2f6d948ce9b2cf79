"""The book of fish: one row a fish."""

from django.db import models
from django.db.models import Q

from beats.models import Beat, Pool
from beats.shared.once import MadeOnce
from bookings.models import Guest


class Catch(MadeOnce):
    """One fish, taken by rod and line."""

    class Kind(models.TextChoices):
        """The classes the statutory return counts; MSW and 1SW are sea ages (winters at sea)."""

        MSW = "msw", "salmon (multi-sea-winter)"
        GRILSE = "1sw", "grilse (one sea winter)"
        SEA_TROUT = "sea_trout", "sea trout"
        FINNOCK = "finnock", "finnock"
        FARMED_MSW = "farmed_msw", "farmed-origin salmon"
        FARMED_GRILSE = "farmed_1sw", "farmed-origin grilse"

    class Fate(models.TextChoices):
        KEPT = "kept"
        RELEASED = "released"

    beat = models.ForeignKey(Beat, on_delete=models.PROTECT, related_name="catches")
    pool = models.ForeignKey(Pool, on_delete=models.PROTECT, null=True, related_name="catches")
    guest = models.ForeignKey(Guest, on_delete=models.PROTECT, null=True, related_name="catches")
    caught_at = models.DateTimeField()
    caught_on = models.DateField(help_text="The date at the river; what the return counts by")
    kind = models.CharField(max_length=12, choices=Kind)
    fate = models.CharField(max_length=10, choices=Fate)
    weight_kg = models.DecimalField(max_digits=5, decimal_places=2, null=True)
    length_cm = models.DecimalField(max_digits=4, decimal_places=1, null=True)
    fly = models.CharField(max_length=80, blank=True)

    class Meta(MadeOnce.Meta):
        constraints = [
            *MadeOnce.Meta.constraints,
            models.CheckConstraint(
                condition=(Q(weight_kg__isnull=True) | Q(weight_kg__gt=0, weight_kg__lte=60))
                & (Q(length_cm__isnull=True) | Q(length_cm__gt=0, length_cm__lte=200)),
                name="a_fish_has_size",
            ),
        ]
        indexes = [models.Index(fields=["beat", "caught_on"], name="catches_by_beat_and_day")]

    def __str__(self) -> str:
        return f"{self.kind} on {self.caught_on}"
