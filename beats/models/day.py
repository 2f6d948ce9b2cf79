"""What is known of one day: high and low waters, and what a keeper saw at the river."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from beats.models.water import CLARITIES, Beat
from beats.shared.once import MadeOnce
from beats.water.feeds.levels import COLDEST_C, WARMEST_C
from beats.water.tide_table import HEIGHT_M, Kind
from beats.water.wind import FASTEST_MPS


class TideWater(models.Model):
    """A high or low water at a beat, from its port's table; metres above the port's datum."""

    beat = models.ForeignKey(Beat, on_delete=models.CASCADE, related_name="tide_waters", db_index=False)
    at = models.DateTimeField()
    height_m = models.FloatField()
    kind = models.CharField(max_length=4, choices=[(kind.value, kind.value) for kind in Kind])

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["beat", "at"], name="one_water_an_instant"),
            models.CheckConstraint(
                condition=Q(height_m__gte=HEIGHT_M[0], height_m__lte=HEIGHT_M[1]), name="a_tide_is_of_this_world"
            ),
            models.CheckConstraint(
                condition=Q(kind__in=[kind.value for kind in Kind]), name="a_water_is_high_or_low"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} water {self.height_m} m at {self.at}"


class Observation(MadeOnce):
    """What a keeper saw: wind, thunder, how clear the water is, how warm. Null is "not looked at"."""

    beat = models.ForeignKey(Beat, on_delete=models.CASCADE, related_name="observations", db_index=False)
    at = models.DateTimeField()
    wind_from_deg = models.FloatField(null=True, help_text="Bearing the wind comes from")
    wind_mps = models.FloatField(null=True)
    thunder = models.BooleanField(null=True)
    clarity = models.CharField(max_length=12, choices=CLARITIES, null=True)
    water_c = models.FloatField(null=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+")

    class Meta(MadeOnce.Meta):
        indexes = [models.Index(fields=["beat", "at"], name="observations_of_a_beat")]
        constraints = [
            *MadeOnce.Meta.constraints,
            models.CheckConstraint(
                condition=Q(wind_mps__isnull=False)
                | Q(thunder__isnull=False)
                | Q(clarity__isnull=False)
                | Q(water_c__isnull=False),
                name="an_observation_says_something",
            ),
            models.CheckConstraint(
                condition=Q(wind_from_deg__isnull=True, wind_mps__isnull=True)
                | Q(wind_from_deg__gte=0, wind_from_deg__lte=360, wind_mps__gte=0, wind_mps__lte=FASTEST_MPS),
                name="a_wind_has_a_bearing_and_a_speed",
            ),
            models.CheckConstraint(
                condition=Q(water_c__isnull=True) | Q(water_c__gte=COLDEST_C, water_c__lte=WARMEST_C),
                name="seen_water_is_neither_ice_nor_scalding",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.beat} at {self.at}"
