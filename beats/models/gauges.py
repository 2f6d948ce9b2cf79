"""Where the river's height is read, what was read, and by whom or what."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from beats.shared.once import MadeOnce
from beats.water.feeds.levels import COLDEST_C, HIGHEST_M, LOWEST_M, WARMEST_C


class Gauge(models.Model):
    """A place the level is read. Levels are metres on the gauge's own datum.

    A gauge with a feed is fetched by machine: `feed_...` is what its owner wrote, `poll_...` how the
    fetching goes. Null where there is no feed, or nothing yet to say.
    """

    class Feed(models.TextChoices):
        """The open format in which the level is published."""

        ENVIRONMENT_AGENCY = "environment-agency", "Environment Agency flood-monitoring JSON"
        KIWIS = "kiwis", "KiWIS time-series JSON"
        WATERML = "waterml", "OGC WaterML 2.0"

    fishery = models.ForeignKey("beats.Fishery", on_delete=models.CASCADE, related_name="gauges")
    slug = models.SlugField()
    name = models.CharField(max_length=120)
    typical_low_m = models.FloatField(null=True)
    typical_high_m = models.FloatField(null=True)
    stale_after_minutes = models.PositiveSmallIntegerField(default=60)
    jump_m = models.FloatField(
        default=2, db_default=2, help_text="More than this in a quarter of an hour is not believed"
    )
    fall_step_m = models.FloatField(
        default=0.25, db_default=0.25, help_text="A larger fall in a quarter of an hour must be confirmed"
    )
    confirm_readings = models.PositiveSmallIntegerField(
        default=2, db_default=2, help_text="Further readings that confirm a fall, or a level after a silence"
    )
    flat_after_hours = models.PositiveSmallIntegerField(
        default=24, db_default=24, help_text="Flat for so long, and longer than usual here: it may be stuck"
    )
    lowest_m = models.FloatField(null=True, help_text="Lowest level believed so far")
    highest_m = models.FloatField(null=True, help_text="Highest level believed so far")
    flat_m = models.FloatField(null=True, help_text="Level of the run of equal readings that ends with the newest")
    flat_since = models.DateTimeField(null=True)
    flat_last_at = models.DateTimeField(null=True)
    flat_count = models.PositiveIntegerField(default=0, db_default=0)
    longest_flat_minutes = models.PositiveIntegerField(
        default=0, db_default=0, help_text="Longest run of equal readings that is usual here"
    )
    seen_since = models.DateTimeField(null=True, help_text="First reading the flat runs were counted from")
    feed_kind = models.CharField(max_length=20, choices=Feed, null=True)
    feed_url = models.URLField(
        max_length=500, null=True, help_text="https only; may hold a key, so it is not shown"
    )
    feed_zone = models.CharField(max_length=60, null=True, help_text="Of times the feed gives without a zone")
    feed_unit = models.CharField(max_length=2, null=True, help_text="m, cm, mm or ft, where the feed states none")
    poll_etag = models.CharField(max_length=200, null=True)
    poll_modified = models.CharField(max_length=60, null=True, help_text="The feed's Last-Modified, as it sent it")
    poll_fault = models.CharField(max_length=300, null=True, help_text="Why the last fetching brought nothing")
    poll_notes = models.CharField(max_length=300, null=True, help_text="What was left out of the last answer")
    poll_failures = models.PositiveSmallIntegerField(default=0, db_default=0, help_text="In a row")
    polled_at = models.DateTimeField(null=True)
    next_poll_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["fishery", "slug"], name="one_gauge_of_a_name"),
            models.CheckConstraint(
                condition=Q(feed_kind__isnull=True, feed_url__isnull=True)
                | Q(feed_kind__isnull=False, feed_url__isnull=False, feed_url__startswith="https://"),
                name="a_feed_has_a_kind_and_an_https_address",
            ),
            models.CheckConstraint(
                condition=Q(jump_m__gte=0.1, jump_m__lte=50), name="a_jump_is_more_than_a_wave"
            ),
            models.CheckConstraint(
                condition=Q(fall_step_m__gte=0.01, fall_step_m__lte=50), name="gauge_fall_step_range"
            ),
            models.CheckConstraint(
                condition=Q(confirm_readings__gte=1, confirm_readings__lte=20), name="gauge_confirm_readings_range"
            ),
            models.CheckConstraint(
                condition=Q(flat_after_hours__gte=1, flat_after_hours__lte=720), name="gauge_flat_after_range"
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def attribution(self) -> str | None:
        """The words a feed's licence asks for, to be shown wherever its levels are."""
        return ATTRIBUTIONS.get(self.feed_kind)


# Asked for word by word in the reference of that service (environment.data.gov.uk/flood-monitoring/doc).
ATTRIBUTIONS = {
    Gauge.Feed.ENVIRONMENT_AGENCY: (
        "this uses Environment Agency flood and river level data from the real-time data API (Beta)"
    )
}


class GaugeKey(MadeOnce):
    """The secret of a logger that posts readings to one gauge; only its SHA-256 is kept."""

    gauge = models.ForeignKey(Gauge, on_delete=models.CASCADE, related_name="keys")
    label = models.CharField(max_length=80)
    digest = models.CharField(max_length=64, unique=True, editable=False)
    created_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True)
    last_used_at = models.DateTimeField(null=True)

    class Meta(MadeOnce.Meta):
        pass

    def __str__(self) -> str:
        return f"{self.label} at {self.gauge}"


class Reading(models.Model):
    """The level at an instant; a second reading of the same instant changes nothing."""

    class Source(models.TextChoices):
        HAND = "hand"
        LOGGER = "logger"
        CSV = "csv"
        FEED = "feed"

    gauge = models.ForeignKey(
        Gauge, on_delete=models.CASCADE, related_name="readings", db_index=False
    )  # one_reading_an_instant begins with it
    at = models.DateTimeField()
    level_m = models.FloatField()
    water_c = models.FloatField(null=True)
    source = models.CharField(max_length=6, choices=Source, default=Source.HAND, db_default=Source.HAND)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+")
    trusted = models.BooleanField(
        null=True, help_text="False: it jumped, or a person distrusts it. True: a person vouches for it"
    )
    judged_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+", db_index=False
    )

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["gauge", "at"], name="one_reading_an_instant"),
            models.CheckConstraint(
                condition=Q(level_m__gte=LOWEST_M, level_m__lte=HIGHEST_M), name="a_level_is_of_this_world"
            ),
            models.CheckConstraint(
                condition=Q(water_c__isnull=True) | Q(water_c__gte=COLDEST_C, water_c__lte=WARMEST_C),
                name="water_is_neither_ice_nor_scalding",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.level_m} m at {self.at}"
