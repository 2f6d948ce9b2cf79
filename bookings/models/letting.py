"""How the water is let: its policy, its closures, and who is asked first when a season opens."""

from django.db import models
from django.db.models import F, Q

from beats.models import Beat, Fishery
from beats.shared.once import MadeOnce
from bookings.models.book import Guest, Let


class LettingPolicy(models.Model):
    """How long this fishery holds rods and waits for answers. Without a row the defaults hold."""

    fishery = models.OneToOneField(Fishery, on_delete=models.CASCADE, related_name="letting_policy")
    hold_minutes = models.PositiveIntegerField(default=48 * 60, help_text="How long rods are held unconfirmed")
    offer_minutes = models.PositiveIntegerField(
        default=72 * 60, help_text="How long somebody on the waiting list has to answer"
    )
    version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(hold_minutes__range=(5, 90 * 1440), offer_minutes__range=(5, 90 * 1440)),
                name="a_hold_lasts_minutes_to_months",
            )
        ]

    def __str__(self) -> str:
        return f"letting policy of {self.fishery}"


class RefundStep(models.Model):
    """Days given up at least so many days before the first of them: so much of their price goes back."""

    policy = models.ForeignKey(LettingPolicy, on_delete=models.CASCADE, related_name="refund_steps")
    notice_days = models.PositiveSmallIntegerField()
    percent = models.PositiveSmallIntegerField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["policy", "notice_days"], name="one_refund_for_a_notice"),
            models.CheckConstraint(condition=Q(percent__lte=100), name="no_more_goes_back_than_was_paid"),
        ]

    def __str__(self) -> str:
        return f"{self.percent} % from {self.notice_days} days"


class BeatClosure(models.Model):
    """A beat not let for some days, both included: work on the bank, a bridge out."""

    beat = models.ForeignKey(Beat, on_delete=models.CASCADE, related_name="closures")
    from_on = models.DateField()
    to_on = models.DateField()
    reason = models.CharField(max_length=200)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["beat", "from_on", "to_on"], name="one_beat_closure_for_the_days"),
            models.CheckConstraint(condition=Q(from_on__lte=F("to_on")), name="a_beat_closure_has_days"),
        ]

    def __str__(self) -> str:
        return f"{self.beat} closed {self.from_on} to {self.to_on}"


class LettingSeason(models.Model):
    """A year opened for letting: until the answer date last year's tenants have their weeks."""

    fishery = models.ForeignKey(Fishery, on_delete=models.CASCADE, related_name="letting_seasons")
    year = models.PositiveSmallIntegerField()
    answer_by = models.DateField(help_text="The last day on which a tenant may answer")
    opened_at = models.DateTimeField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["fishery", "year"], name="a_season_opens_once")]

    def __str__(self) -> str:
        return f"season {self.year} of {self.fishery}"


class Waiting(MadeOnce):
    """Somebody who would take a week that nobody claims; asked in the order they came."""

    fishery = models.ForeignKey(Fishery, on_delete=models.CASCADE, related_name="waiting")
    guest = models.ForeignKey(Guest, on_delete=models.CASCADE, related_name="waiting")
    beat = models.ForeignKey(Beat, on_delete=models.CASCADE, null=True, related_name="waiting")
    week = models.PositiveSmallIntegerField(null=True, help_text="Week of the season; null takes any")
    rods = models.PositiveSmallIntegerField(default=1)
    since = models.DateTimeField()
    left_at = models.DateTimeField(null=True, help_text="When they took a week or gave up")

    class Meta(MadeOnce.Meta):
        constraints = [
            *MadeOnce.Meta.constraints,
            models.CheckConstraint(condition=Q(rods__gte=1), name="nobody_waits_for_no_rod"),
        ]
        indexes = [
            models.Index(fields=["fishery", "since", "id"], condition=Q(left_at=None), name="who_waits_in_order")
        ]

    def __str__(self) -> str:
        return f"{self.guest} waits since {self.since:%Y-%m-%d}"


class SameWeek(models.Model):
    """What one let of last year becomes in a newly opened season: the same week, by week of the season."""

    season = models.ForeignKey(LettingSeason, on_delete=models.CASCADE, related_name="weeks")
    last_let = models.ForeignKey(Let, on_delete=models.PROTECT, related_name="next_year")
    week = models.PositiveSmallIntegerField(help_text="Of the season, from 1")
    first_on = models.DateField(null=True)
    last_on = models.DateField(null=True)
    fault = models.CharField(max_length=300, blank=True, help_text="Why it could not be offered")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["season", "last_let"], name="a_let_comes_again_once")]

    def __str__(self) -> str:
        return f"week {self.week} of {self.season}"


class Offer(models.Model):
    """The week held for one person until they answer. How it stands is how its let stands."""

    same_week = models.ForeignKey(SameWeek, on_delete=models.CASCADE, related_name="offers")
    number = models.PositiveSmallIntegerField(help_text="0 is last year's tenant, then the waiting list")
    waiting = models.ForeignKey(Waiting, on_delete=models.CASCADE, null=True, related_name="offers")
    let = models.OneToOneField(Let, on_delete=models.PROTECT, related_name="offer")
    notice = models.ForeignKey(
        "TenancyNotice", on_delete=models.SET_NULL, null=True, related_name="offers", help_text="The first letter"
    )
    reminder = models.ForeignKey(
        "TenancyNotice", on_delete=models.SET_NULL, null=True, related_name="reminded_offers"
    )

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["same_week", "number"], name="one_asked_at_a_time"),
            models.UniqueConstraint(fields=["same_week", "waiting"], name="nobody_is_asked_twice"),
            models.CheckConstraint(
                condition=Q(number=0, waiting__isnull=True) | Q(number__gte=1, waiting__isnull=False),
                name="the_tenant_is_asked_first",
            ),
        ]

    def __str__(self) -> str:
        return f"offer {self.number} of {self.same_week}"


class LetImport(MadeOnce):
    """A file of lets taken in, known by its digest so that the same file is not taken in twice."""

    fishery = models.ForeignKey(Fishery, on_delete=models.CASCADE, related_name="let_imports")
    digest = models.CharField(max_length=64)
    rows = models.PositiveIntegerField()
    new_guests = models.PositiveIntegerField()
    letters = models.PositiveIntegerField(null=True, help_text="E-mails asked for; null: before this was kept")
    skipped = models.JSONField(default=list, db_default=[], help_text="Rows left out: row and text")
    at = models.DateTimeField()

    class Meta(MadeOnce.Meta):
        constraints = [
            *MadeOnce.Meta.constraints,
            models.UniqueConstraint(fields=["fishery", "digest"], name="a_file_is_taken_in_once"),
        ]

    def __str__(self) -> str:
        return f"{self.rows} lets taken in {self.at:%Y-%m-%d}"
