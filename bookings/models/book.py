"""Guests, lets, and the rod-day: the one claim on one rod of a beat on one day."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from beats.models import Beat, Fishery, Pool
from beats.shared.once import MadeOnce
from beats.shared.phrases import say


class Guest(MadeOnce):
    """Somebody who fishes here, as this fishery knows them."""

    class Shoulder(models.TextChoices):
        """Over which shoulder they cast."""

        LEFT = "left"
        RIGHT = "right"
        BOTH = "both"

    fishery = models.ForeignKey(Fishery, on_delete=models.CASCADE, related_name="guests")
    user = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="guests",
        help_text="The account of the person, who linked it themselves; null: not linked",
    )  # fmt: skip
    declined_at = models.DateTimeField(null=True, help_text="When the person declined to link their account")
    name = models.CharField(max_length=120)
    email = models.EmailField(blank=True)
    phone = models.CharField(max_length=20, blank=True, help_text="E.164")
    emergency_contact_name = models.CharField(max_length=120, blank=True)
    emergency_contact_phone = models.CharField(max_length=20, blank=True, help_text="E.164")
    emergency_contact_email = models.EmailField(blank=True, default="", db_default="")
    wading_grade = models.PositiveSmallIntegerField(
        choices=Pool.Wading, null=True, help_text="The hardest wading they may be sent to; null: not known"
    )
    needs_ghillie = models.BooleanField(default=False, help_text="Fishes only with a ghillie by")
    casting_shoulder = models.CharField(max_length=5, choices=Shoulder, blank=True, help_text="Blank: not said")
    needs = models.CharField(max_length=300, blank=True, help_text="What the ghillie must know to help them")
    wants_boat = models.BooleanField(default=False, help_text="Would rather fish from a boat")
    entered_at = models.DateTimeField(null=True, help_text="Null: before this was kept")
    erased_at = models.DateTimeField(null=True, help_text="When all that names them was taken out")
    version = models.PositiveIntegerField(default=1)

    class Meta(MadeOnce.Meta):
        constraints = [
            *MadeOnce.Meta.constraints,
            models.UniqueConstraint(
                fields=["fishery", "email"], condition=~Q(email=""), name="one_guest_of_an_email"
            ),
            models.UniqueConstraint(fields=["fishery", "user"], name="one_guest_of_a_user"),
            models.CheckConstraint(
                condition=Q(user__isnull=True) | Q(declined_at__isnull=True), name="guest_linked_or_declined"
            ),
        ]
        indexes = [
            models.Index(
                fields=["email"], name="guest_unlinked_email",
                condition=Q(user__isnull=True, erased_at__isnull=True) & ~Q(email=""),
            ),
        ]  # fmt: skip

    def __str__(self) -> str:
        return self.name

    @property
    def invitation(self) -> str:
        """The link to the person's account: "none" (no address is entered), "open", "declined" or "accepted"."""
        if self.user_id:
            return "accepted"
        if not self.email or self.erased_at:
            return "none"
        return "declined" if self.declined_at else "open"

    @property
    def rota_wading_grade(self) -> int:
        """The grade a rota may count on: where it is not known, the most careful one."""
        return Pool.Wading.BANK if self.wading_grade is None else self.wading_grade

    @property
    def contact_is_self(self) -> bool:
        """Whether the emergency contact has the angler's own number or address."""
        own_number = self.emergency_contact_phone and self.emergency_contact_phone == self.phone
        own_address = self.emergency_contact_email and self.emergency_contact_email == self.email
        return bool(own_number or own_address)


class Let(MadeOnce):
    """Rods of a beat let to somebody: held, then confirmed, then perhaps cancelled, and never back."""

    class Status(models.TextChoices):
        HELD = "held"
        CONFIRMED = "confirmed"
        CANCELLED = "cancelled"

    class Kind(models.TextChoices):
        """How the days hang together; the tariff may price each its own way."""

        DAY = "day", say("days as they come")
        WEEK = "week", say("the fishing days of one week")
        WHOLE_BEAT = "whole_beat", say("every rod of the beat")
        SEASON = "season", say("one weekday, every week")

    class Ending(models.TextChoices):
        """Why a let is over."""

        ASKED = "asked", "somebody cancelled it"
        RAN_OUT = "ran_out", "nobody confirmed it in time"

    class Company(models.TextChoices):
        EITHER = "either"
        TOGETHER = "together"
        APART = "apart"

    beat = models.ForeignKey(Beat, on_delete=models.PROTECT, related_name="lets")
    booker = models.ForeignKey(Guest, on_delete=models.PROTECT, related_name="lets")
    status = models.CharField(max_length=10, choices=Status, default=Status.CONFIRMED)
    kind = models.CharField(max_length=10, choices=Kind, default=Kind.DAY)
    weekday = models.PositiveSmallIntegerField(null=True, help_text="Of season rods: Monday is 0")
    first_on = models.DateField()
    last_on = models.DateField(help_text="The last day fished")
    rods = models.PositiveSmallIntegerField()
    company = models.CharField(
        max_length=10, choices=Company, default=Company.EITHER, help_text="Whether the party's rods share a pool"
    )
    made_at = models.DateTimeField()
    expires_at = models.DateTimeField(null=True, help_text="When a hold runs out")
    confirmed_at = models.DateTimeField(null=True)
    cancelled_at = models.DateTimeField(null=True)
    ending = models.CharField(max_length=10, choices=Ending, blank=True)
    refund_percent = models.PositiveSmallIntegerField(
        null=True, help_text="Of the price of the days given back; set when a confirmed let is cancelled"
    )
    split_from = models.ForeignKey("self", on_delete=models.PROTECT, null=True, related_name="split_off")
    version = models.PositiveIntegerField(default=1)
    edition = models.PositiveIntegerField(
        default=1, db_default=1, help_text="One higher with every change that whoever fishes must be told of"
    )

    class Meta(MadeOnce.Meta):
        constraints = [
            *MadeOnce.Meta.constraints,
            models.CheckConstraint(condition=Q(first_on__lte=F("last_on")), name="a_let_ends_after_it_starts"),
            models.CheckConstraint(condition=Q(rods__gte=1), name="a_let_has_a_rod"),
            models.CheckConstraint(
                condition=Q(status="cancelled", cancelled_at__isnull=False)
                | (~Q(status="cancelled") & Q(cancelled_at__isnull=True)),
                name="a_cancelled_let_says_when",
            ),
            models.CheckConstraint(
                condition=Q(status="held", expires_at__isnull=False, confirmed_at__isnull=True)
                | (~Q(status="held") & Q(expires_at__isnull=True)),
                name="a_hold_runs_out_and_nothing_else_does",
            ),
            models.CheckConstraint(
                condition=Q(kind="season", weekday__isnull=False, weekday__range=(0, 5))
                | (~Q(kind="season") & Q(weekday__isnull=True)),
                name="season_rods_have_their_weekday",
            ),
            models.CheckConstraint(
                condition=Q(refund_percent__isnull=True)
                | Q(status="cancelled", confirmed_at__isnull=False, refund_percent__lte=100),
                name="only_a_cancelled_let_is_refunded",
            ),
        ]
        indexes = [
            models.Index(fields=["expires_at"], condition=Q(status="held"), name="holds_by_when_they_run_out"),
        ]

    def __str__(self) -> str:
        return f"let {self.pk}: {self.beat}, {self.first_on} to {self.last_on}"


class RodDay(models.Model):
    """One rod of a beat on one day. The unique constraint is what makes a booking sure."""

    beat = models.ForeignKey(Beat, on_delete=models.PROTECT, related_name="rod_days")
    day = models.DateField()
    rod = models.PositiveSmallIntegerField()
    let = models.ForeignKey(Let, on_delete=models.CASCADE, related_name="rod_days")
    guest = models.ForeignKey(Guest, on_delete=models.PROTECT, null=True, related_name="rod_days")
    sharer = models.ForeignKey(
        Guest, on_delete=models.PROTECT, null=True, related_name="shared_rod_days", help_text="Who shares the rod"
    )

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["beat", "day", "rod"], name="one_claim_on_a_rod_day"),
            models.UniqueConstraint(fields=["guest", "day"], name="one_rod_a_guest_a_day"),
            models.CheckConstraint(condition=Q(rod__gte=1), name="rods_count_from_one"),
        ]

    def __str__(self) -> str:
        return f"{self.beat}, {self.day}, rod {self.rod}"
