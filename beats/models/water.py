"""The river as its owner wrote it down: fishery, beats, pools, parts of the day, stricter rules."""

import datetime as dt

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q

from beats.season import Grade, Status
from beats.water.feeds.levels import COLDEST_C, WARMEST_C
from beats.water.practice import Clarity

CLARITIES = [(clarity.value, clarity.value) for clarity in Clarity]


class Fishery(models.Model):
    """One owner's water on one river, inside one statutory district."""

    slug = models.SlugField(unique=True)
    name = models.CharField(max_length=120)
    river = models.CharField(max_length=120)
    time_zone = models.CharField(max_length=60)
    district = models.CharField(max_length=6, help_text="Entry in the schedule of SSI 2014/327, such as 46")
    latitude = models.FloatField()
    longitude = models.FloatField()
    phone = models.CharField(max_length=20, blank=True, help_text="E.164")
    rota_policy = models.CharField(
        max_length=14, choices=[(name, name) for name in ("all-the-water", "best-water")], default="all-the-water"
    )
    second_hand_percent = models.PositiveSmallIntegerField(
        default=30, help_text="Taken off a pool's worth when it was fished that day already"
    )
    second_visit_percent = models.PositiveSmallIntegerField(default=20, help_text="Taken off a rod's second visit")
    later_visit_percent = models.PositiveSmallIntegerField(default=40, help_text="And off every later one")
    drought = models.BooleanField(default=False, db_default=False, help_text="The river is in drought")
    care_c = models.FloatField(default=18, db_default=18, help_text="Extra care of a released fish from here")
    stop_c = models.FloatField(default=20, db_default=20, help_text="Stop fishing for salmon from here")
    drought_stop_c = models.FloatField(default=18, db_default=18, help_text="And in a drought from here")

    class Meta:
        verbose_name_plural = "fisheries"
        constraints = [
            models.CheckConstraint(
                condition=Q(care_c__lte=F("stop_c"), drought_stop_c__lte=F("stop_c"))
                & Q(care_c__gte=COLDEST_C, drought_stop_c__gte=COLDEST_C, stop_c__lte=WARMEST_C),
                name="care_begins_before_stopping",
            ),
            models.CheckConstraint(
                condition=Q(second_hand_percent__lte=90, second_visit_percent__lte=F("later_visit_percent"))
                & Q(later_visit_percent__lte=90),
                name="discounts_leave_some_worth",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class ConservationGrade(models.Model):
    """The river's grade from a date on, until the next one."""

    fishery = models.ForeignKey(Fishery, on_delete=models.CASCADE, related_name="grades")
    from_on = models.DateField()
    grade = models.CharField(max_length=10, choices=[(grade.value, grade.value) for grade in Grade])

    class Meta:
        constraints = [models.UniqueConstraint(fields=["fishery", "from_on"], name="one_grade_from_a_date")]

    def __str__(self) -> str:
        return f"{self.grade} from {self.from_on}"


class FisheryRule(models.Model):
    """A rule of the house, stricter than the law, for the same days of every year (MM-DD, inclusive)."""

    fishery = models.ForeignKey(Fishery, on_delete=models.CASCADE, related_name="rules")
    status = models.CharField(
        max_length=12, choices=[(kind.value, kind.value) for kind in (Status.CLOSED, Status.RELEASE_ONLY)]
    )
    start = models.CharField(max_length=5)
    end = models.CharField(max_length=5)
    reason = models.CharField(max_length=200)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(status__in=[Status.CLOSED, Status.RELEASE_ONLY]), name="a_house_rule_is_stricter"
            )
        ]

    def __str__(self) -> str:
        return f"{self.status} {self.start} to {self.end}"


class DayPart(models.Model):
    """A part of the fishing day, in local time; the rota moves rods between parts."""

    fishery = models.ForeignKey(Fishery, on_delete=models.CASCADE, related_name="parts")
    slug = models.SlugField()
    name = models.CharField(max_length=60)
    starts = models.TimeField()
    ends = models.TimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["fishery", "slug"], name="one_part_of_a_name"),
            models.CheckConstraint(condition=Q(starts__lt=F("ends")), name="a_part_ends_after_it_starts"),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def minutes(self) -> int:
        """How long it lasts; whole minutes, one at least."""
        span = dt.datetime.combine(dt.date.min, self.ends) - dt.datetime.combine(dt.date.min, self.starts)
        return max(int(span.total_seconds() // 60), 1)


class Beat(models.Model):
    """A stretch of the fishery let as a whole or by the rod, with its policy for people on the water."""

    fishery = models.ForeignKey(Fishery, on_delete=models.CASCADE, related_name="beats")
    slug = models.SlugField()
    name = models.CharField(max_length=120)
    order = models.PositiveSmallIntegerField()
    rods = models.PositiveSmallIntegerField(validators=[MinValueValidator(1)])
    boats = models.PositiveSmallIntegerField(default=0)
    ghillies = models.PositiveSmallIntegerField(default=1, help_text="Ghillies who can stand by a rod at once")
    tidal = models.BooleanField(default=False)
    mobile_signal = models.CharField(max_length=200, blank=True)
    meeting_point = models.CharField(max_length=200, blank=True)
    longest_outing_minutes = models.PositiveSmallIntegerField()
    grace_minutes = models.PositiveSmallIntegerField()
    lone_grace_minutes = models.PositiveSmallIntegerField()
    rise_m_per_h = models.FloatField(null=True, help_text="Rising as fast as this is time to come out")
    dark_margin_minutes = models.PositiveSmallIntegerField(
        default=30, db_default=30, help_text="An outing is off the water so long before last light"
    )
    cold_c = models.FloatField(default=10, db_default=10, help_text="Water counts as cold from here down")
    clarity = models.CharField(
        max_length=12, choices=CLARITIES, null=True, help_text="How clear the water usually is"
    )
    tide_lag_days = models.FloatField(
        default=2, db_default=2, help_text="Days from new and full moon to springs at the port"
    )
    contact_minutes = models.PositiveSmallIntegerField(
        default=120,
        db_default=120,
        help_text="A lone angler says at least so often that all is well; 0: never asked",
    )
    warn_minutes = models.PositiveSmallIntegerField(
        default=10, db_default=10, help_text="Before due back, the angler is reminded; 0: not"
    )
    watch_policy = models.JSONField(null=True, help_text="The ladder and the recalls; null is the usual way")
    watch_version = models.PositiveIntegerField(default=1, db_default=1)
    gauge = models.ForeignKey("beats.Gauge", on_delete=models.PROTECT, null=True, related_name="beats")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["fishery", "slug"], name="one_beat_of_a_name"),
            models.CheckConstraint(condition=Q(rods__gte=1), name="a_beat_has_a_rod"),
            models.CheckConstraint(
                condition=Q(rise_m_per_h__isnull=True) | Q(rise_m_per_h__gte=0.01, rise_m_per_h__lte=10),
                name="a_rise_is_too_fast_from_somewhere",
            ),
            models.CheckConstraint(
                condition=Q(tide_lag_days__gte=0, tide_lag_days__lte=4), name="springs_follow_the_moon"
            ),
        ]

    def __str__(self) -> str:
        return self.name


class Pool(models.Model):
    """A pool, in order down the beat; depth and velocity hold at the reference level."""

    class Bank(models.TextChoices):
        """Facing downstream."""

        LEFT = "left"
        RIGHT = "right"

    class Wading(models.IntegerChoices):
        """How hard the wading is. Our own scale; common practice, no source."""

        BANK = 0, "from the bank"
        EASY = 1, "to the knee, firm bed"
        FAIR = 2, "to the thigh"
        HARD = 3, "deep, fast or rough"

    beat = models.ForeignKey(Beat, on_delete=models.CASCADE, related_name="pools")
    slug = models.SlugField()
    name = models.CharField(max_length=120)
    order = models.PositiveSmallIntegerField()
    bank = models.CharField(max_length=5, choices=Bank)
    flow_bearing_deg = models.FloatField(validators=[MinValueValidator(0), MaxValueValidator(360)])
    length_m = models.FloatField()
    width_m = models.FloatField()
    depth_m = models.FloatField()
    velocity_mps = models.FloatField()
    reference_level_m = models.FloatField(null=True)
    depth_per_level = models.FloatField(null=True, help_text="Depth gained per metre of level; null is 1")
    velocity_exponent = models.FloatField(null=True, help_text="Power of the depth; null is Manning's 2/3")
    velocity_factor = models.FloatField(null=True, help_text="Times the speed the rule gives; null is 1")
    flow_table = models.JSONField(default=list, blank=True, help_text="Measured: level_m, depth_m, velocity_mps")
    features = models.JSONField(default=list, blank=True, help_text="What makes a lie here")
    tackle_words = models.JSONField(default=dict, blank=True, help_text="A ghillie's: what to text and by")
    wading_depth_m = models.FloatField(null=True, help_text="Where an angler stands; null is depth_m")
    wading_velocity_mps = models.FloatField(null=True, help_text="Where an angler stands; null is velocity_mps")
    cut_off_above_m = models.FloatField(null=True, help_text="Height of the tide that cuts it off")
    rods_at_once = models.PositiveSmallIntegerField(default=1)
    wading_grade = models.PositiveSmallIntegerField(choices=Wading)
    boat = models.BooleanField(default=False, help_text="Fished from a boat")
    ghillie = models.BooleanField(default=False, help_text="Fished only with a ghillie by")
    level_min_m = models.FloatField(null=True)
    level_max_m = models.FloatField(null=True)
    step_m = models.FloatField(null=True, help_text="Between casts; null is common practice, here and below")
    cycle_s = models.FloatField(null=True, help_text="One cast, its swing and the line gathered")
    short_casts = models.PositiveSmallIntegerField(null=True, help_text="At the neck, lengthening the line")
    behind_m = models.FloatField(null=True, help_text="What the next rod leaves to the one in front")
    worth = models.PositiveSmallIntegerField(default=10)
    worth_by_part = models.JSONField(default=dict, blank=True, help_text="Where it differs: part to worth")
    latitude = models.FloatField(null=True)
    longitude = models.FloatField(null=True)
    access = models.CharField(max_length=200, blank=True, help_text="How to reach it, for whoever comes looking")
    retired = models.BooleanField(default=False, help_text="Kept for its history; no longer fished")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["beat", "slug"], name="one_pool_of_a_name"),
            models.CheckConstraint(
                condition=Q(rods_at_once__gte=1) & Q(worth__gte=1), name="a_pool_holds_a_rod_and_has_worth"
            ),
            models.CheckConstraint(
                condition=Q(length_m__gt=0, width_m__gt=0, depth_m__gt=0, velocity_mps__gte=0),
                name="a_pool_has_size",
            ),
            models.CheckConstraint(
                condition=Q(level_min_m__isnull=True)
                | Q(level_max_m__isnull=True)
                | Q(level_min_m__lt=F("level_max_m")),
                name="a_level_window_is_open",
            ),
            models.CheckConstraint(
                condition=(Q(step_m__isnull=True) | Q(step_m__gt=0))
                & (Q(cycle_s__isnull=True) | Q(cycle_s__gt=0))
                & (Q(behind_m__isnull=True) | Q(behind_m__gt=0)),
                name="a_pace_goes_forward",
            ),
            models.CheckConstraint(
                condition=(Q(depth_per_level__isnull=True) | Q(depth_per_level__gt=0))
                & (Q(velocity_exponent__isnull=True) | Q(velocity_exponent__gte=0))
                & (Q(velocity_factor__isnull=True) | Q(velocity_factor__gt=0)),
                name="a_deeper_pool_is_no_slower",
            ),
            models.CheckConstraint(
                condition=(Q(wading_depth_m__isnull=True) | Q(wading_depth_m__gt=0))
                & (Q(wading_velocity_mps__isnull=True) | Q(wading_velocity_mps__gte=0)),
                name="an_angler_stands_in_water",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class PoolClosure(models.Model):
    """A pool closed by the ghillie's hand, for dates both included."""

    pool = models.ForeignKey(Pool, on_delete=models.CASCADE, related_name="closures")
    from_on = models.DateField()
    to_on = models.DateField()
    reason = models.CharField(max_length=200)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["pool", "from_on", "to_on"], name="one_closure_for_the_same_days"),
            models.CheckConstraint(condition=Q(from_on__lte=F("to_on")), name="a_closure_ends_after_it_starts"),
        ]

    def __str__(self) -> str:
        return f"{self.pool} closed {self.from_on} to {self.to_on}"
