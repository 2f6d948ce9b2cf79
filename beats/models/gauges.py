"""Where the river's height is read, and what was read."""

from django.conf import settings
from django.db import models


class Gauge(models.Model):
    """A place the level is read. Levels are metres on the gauge's own datum."""

    fishery = models.ForeignKey("beats.Fishery", on_delete=models.CASCADE, related_name="gauges")
    slug = models.SlugField()
    name = models.CharField(max_length=120)
    typical_low_m = models.FloatField(null=True)
    typical_high_m = models.FloatField(null=True)
    stale_after_minutes = models.PositiveSmallIntegerField(default=60)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["fishery", "slug"], name="one_gauge_of_a_name")]

    def __str__(self) -> str:
        return self.name


class Reading(models.Model):
    """The level at an instant; a second reading of the same instant changes nothing."""

    gauge = models.ForeignKey(Gauge, on_delete=models.CASCADE, related_name="readings")
    at = models.DateTimeField()
    level_m = models.FloatField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["gauge", "at"], name="one_reading_an_instant")]

    def __str__(self) -> str:
        return f"{self.level_m} m at {self.at}"
