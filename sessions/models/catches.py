"""The book of fish: one row a fish."""

from django.db import models
from django.db.models import Q

from beats.models import Beat, Pool
from beats.shared.once import MadeOnce
from beats.shared.phrases import say
from bookings.models import Guest
from sessions.models.old_books import OldBook
from sessions.models.outings import Outing


class CatchQuerySet(models.QuerySet):
    def standing(self):
        """Fish that have not been struck out of the book."""
        return self.filter(struck_out_at__isnull=True)


class Catch(MadeOnce):
    """One fish, taken by rod and line. Kelts and non-native fish are noted and never counted.

    What is corrected or struck out stays to be read in the audit entries of the fish.
    """

    class Kind(models.TextChoices):
        """The classes the statutory return counts; MSW and 1SW are sea ages (winters at sea)."""

        MSW = "msw", say("salmon (multi-sea-winter)")
        GRILSE = "1sw", say("grilse (one sea winter)")
        SEA_TROUT = "sea_trout", say("sea trout")
        FINNOCK = "finnock", say("finnock")
        FARMED_MSW = "farmed_msw", say("farmed-origin salmon")
        FARMED_GRILSE = "farmed_1sw", say("farmed-origin grilse")
        KELT = "kelt", say("kelt (noted, not counted)")
        NON_NATIVE = "non_native", "non-native fish (noted, not counted)"

    class Fate(models.TextChoices):
        KEPT = "kept", say("Kept")
        RELEASED = "released", say("Released")

    class WeightHow(models.TextChoices):
        """How the weight was got; empty when nobody said."""

        WEIGHED = "weighed", say("Weighed")
        ESTIMATED = "estimated", say("Estimated")
        FROM_LENGTH = "from_length", say("reckoned from the length")

    class LengthHow(models.TextChoices):
        MEASURED = "measured"
        ESTIMATED = "estimated"

    class Condition(models.TextChoices):
        """How the fish looked, in the trade's words. Common practice, no source."""

        SEA_LICE = "sea_lice", "with sea lice on"
        FRESH = "fresh"
        COLOURED = "coloured"
        RIPE = "ripe", "ripe, near spawning"

    class Sex(models.TextChoices):
        COCK = "cock"
        HEN = "hen"

    class Method(models.TextChoices):
        FLY = "fly"
        SPINNER = "spinner"
        BAIT = "bait"
        OTHER = "other"

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
    outing = models.ForeignKey(Outing, on_delete=models.PROTECT, null=True, related_name="catches")
    weight_how = models.CharField(max_length=11, choices=WeightHow, blank=True, default="", db_default="")
    length_how = models.CharField(max_length=9, choices=LengthHow, blank=True, default="", db_default="")
    condition = models.CharField(max_length=8, choices=Condition, blank=True, default="", db_default="")
    sex = models.CharField(max_length=4, choices=Sex, blank=True, default="", db_default="")
    method = models.CharField(max_length=7, choices=Method, blank=True, default="", db_default="")
    part = models.SlugField(
        blank=True, default="", db_default="", help_text="Part of the day, as the fishery file names it"
    )
    level_m = models.FloatField(null=True)
    water_c = models.FloatField(null=True)
    level_read_at = models.DateTimeField(null=True, help_text="When the gauge said so; null where a person did")
    tag = models.CharField(max_length=40, blank=True, default="", db_default="")
    scale_sample = models.BooleanField(default=False, db_default=False)
    note = models.CharField(max_length=300, blank=True, default="", db_default="")
    flag = models.CharField(
        max_length=300, blank=True, default="", db_default="", help_text="What the law has against it"
    )
    version = models.PositiveIntegerField(default=1, db_default=1)
    struck_out_at = models.DateTimeField(null=True)
    old_book = models.ForeignKey(OldBook, on_delete=models.PROTECT, null=True, related_name="fish")
    old_row = models.PositiveIntegerField(null=True, help_text="Its row in the file of that old book")

    objects = CatchQuerySet.as_manager()

    class Meta(MadeOnce.Meta):
        constraints = [
            *MadeOnce.Meta.constraints,
            models.CheckConstraint(
                condition=(Q(weight_kg__isnull=True) | Q(weight_kg__gt=0, weight_kg__lte=60))
                & (Q(length_cm__isnull=True) | Q(length_cm__gt=0, length_cm__lte=200)),
                name="a_fish_has_size",
            ),
            models.CheckConstraint(
                condition=(Q(weight_how="") | Q(weight_kg__isnull=False))
                & (~Q(weight_how="from_length") | Q(length_cm__isnull=False)),
                name="a_weight_is_there_to_be_got",
            ),
        ]
        indexes = [models.Index(fields=["beat", "caught_on"], name="catches_by_beat_and_day")]

    def __str__(self) -> str:
        return f"{self.kind} on {self.caught_on}"
