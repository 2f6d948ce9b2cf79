"""Out and back: one angler on the water, from check-in to check-out."""

import datetime as dt

from django.db import models
from django.db.models import F, Q

from beats.models import Beat, Pool
from beats.shared.once import MadeOnce
from bookings.models import Guest


class Outing(MadeOnce):
    """One angler on the water. `alarm_at` is when the watch raises the alarm for this deadline.

    It is stored when the deadline is set, so that what the angler was told stays true and "who is
    overdue" is one indexed question. Every new deadline has a new number.
    """

    guest = models.ForeignKey(Guest, on_delete=models.PROTECT, related_name="outings")
    beat = models.ForeignKey(Beat, on_delete=models.PROTECT, related_name="outings")
    pool = models.ForeignKey(Pool, on_delete=models.PROTECT, null=True, related_name="outings")
    alone = models.BooleanField()
    sea_trout_only = models.BooleanField(
        default=False, db_default=False, help_text="Fishes for sea trout alone; unspecific fishing is for salmon"
    )
    plan = models.CharField(max_length=300, blank=True)
    checked_in_at = models.DateTimeField()
    due_back_at = models.DateTimeField()
    alarm_at = models.DateTimeField()
    deadline_number = models.PositiveIntegerField(default=1)
    checked_out_at = models.DateTimeField(null=True)
    heard_at = models.DateTimeField(null=True, help_text="When the angler, or a witness, was last heard from")
    warn_at = models.DateTimeField(null=True, help_text="When the angler is reminded; null once it is done")
    contact_due_at = models.DateTimeField(null=True, help_text="By when a lone angler says that all is well")
    contact_number = models.PositiveIntegerField(default=0, db_default=0)
    code = models.CharField(max_length=6, blank=True, help_text="Said in a text message, to show which outing")
    party = models.PositiveSmallIntegerField(default=1, db_default=1)
    vehicle = models.CharField(max_length=80, blank=True, default="")
    wearing = models.CharField(max_length=120, blank=True, default="")
    unconfirmed = models.BooleanField(
        default=False, db_default=False, help_text="Begun by its plan: no check-in has come yet"
    )
    watched_by_time_only = models.BooleanField(
        default=False, db_default=False, help_text="Nobody can ring the angler: only the time back is watched"
    )
    watch_limits = models.JSONField(
        default=list, db_default=[], help_text="What the watch could not do at check-in: see WatchLimit"
    )
    meeting_person = models.CharField(
        max_length=120, blank=True, default="", db_default="", help_text="Who expects the angler off the water"
    )
    meeting_at = models.DateTimeField(null=True, help_text="When that person expects them")

    class Meta(MadeOnce.Meta):
        constraints = [
            *MadeOnce.Meta.constraints,
            models.UniqueConstraint(
                fields=["guest"], condition=Q(checked_out_at__isnull=True), name="one_open_outing_a_guest"
            ),
            models.CheckConstraint(
                condition=Q(due_back_at__gt=F("checked_in_at")), name="due_back_after_check_in"
            ),
            models.CheckConstraint(condition=Q(alarm_at__gte=F("due_back_at")), name="alarm_not_before_due_back"),
        ]
        indexes = [
            models.Index(
                fields=["alarm_at", "id"],
                condition=Q(checked_out_at__isnull=True),
                name="open_outings_by_alarm",
            ),
            models.Index(
                fields=["warn_at"],
                condition=Q(checked_out_at__isnull=True, warn_at__isnull=False),
                name="open_outings_by_warning",
            ),
            models.Index(
                fields=["contact_due_at"],
                condition=Q(checked_out_at__isnull=True, contact_due_at__isnull=False),
                name="open_outings_by_contact",
            ),
            models.Index(fields=["beat"], condition=Q(checked_out_at__isnull=True), name="open_outings_by_beat"),
        ]

    def __str__(self) -> str:
        return f"{self.guest} on {self.beat} since {self.checked_in_at}"

    @property
    def well_by(self) -> dt.datetime | None:
        """By when a lone angler is to say that all is well; None where the time back is the next word expected."""
        due = self.contact_due_at
        return due if due and due < self.due_back_at else None


class Plan(MadeOnce):
    """An outing said beforehand, while there was signal: the watch knows the deadline before it begins.

    At `out_at` it begins by itself, unless it was called off or a check-in came first: an angler who
    lost signal on the way is watched all the same.
    """

    guest = models.ForeignKey(Guest, on_delete=models.CASCADE, related_name="plans")
    beat = models.ForeignKey(Beat, on_delete=models.PROTECT, related_name="plans")
    pool = models.ForeignKey(Pool, on_delete=models.PROTECT, null=True, related_name="plans")
    alone = models.BooleanField()
    plan = models.CharField(max_length=300, blank=True)
    out_at = models.DateTimeField()
    due_back_at = models.DateTimeField()
    planned_at = models.DateTimeField()
    called_off_at = models.DateTimeField(null=True)
    outing = models.OneToOneField(Outing, on_delete=models.SET_NULL, null=True, related_name="begun_from")
    replaced_by = models.ForeignKey(
        Outing, on_delete=models.SET_NULL, null=True, related_name="+",
        help_text="The check-in that came before the plan began and called it off",
    )  # fmt: skip

    class Meta(MadeOnce.Meta):
        constraints = [
            *MadeOnce.Meta.constraints,
            models.CheckConstraint(condition=Q(due_back_at__gt=F("out_at")), name="a_plan_ends_after_it_starts"),
            models.UniqueConstraint(
                fields=["guest", "out_at"],
                condition=Q(called_off_at__isnull=True),
                name="one_plan_a_guest_an_instant",
            ),
        ]
        indexes = [
            models.Index(
                fields=["out_at"],
                condition=Q(called_off_at__isnull=True, outing__isnull=True),
                name="plans_to_begin",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.guest} on {self.beat} at {self.out_at}"
