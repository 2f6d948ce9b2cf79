"""Out and back: one angler on the water, from check-in to check-out."""

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
        ]

    def __str__(self) -> str:
        return f"{self.guest} on {self.beat} since {self.checked_in_at}"
