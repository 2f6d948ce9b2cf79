"""Alarms, who answers for them, and who stands by."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from beats.models import Fishery
from beats.shared.once import MadeOnce
from sessions.models import Outing


class Alarm(models.Model):
    """One stage of one occasion, noted once: the unique constraint is what makes it exactly once.

    The occasion is a missed time back (by its deadline number), a missed contact, a call for help or a
    recall nobody answered (by `occasion`). `next_at` is when the watch acts on it again: the next stage
    or the same once more. It stands on the newest stage only.
    """

    class Kind(models.TextChoices):
        OVERDUE = "overdue"
        CONTACT = "contact"
        HELP = "help"
        RECALL = "recall"

    outing = models.ForeignKey(Outing, on_delete=models.PROTECT, related_name="alarms")
    kind = models.CharField(max_length=8, choices=Kind, default=Kind.OVERDUE, db_default=Kind.OVERDUE)
    deadline_number = models.PositiveIntegerField(help_text="0 where no time back was missed")
    occasion = models.PositiveBigIntegerField(default=0, db_default=0)
    stage = models.PositiveSmallIntegerField(default=1)
    due_back_at = models.DateTimeField(help_text="The deadline that was missed")
    alarm_at = models.DateTimeField(null=True, help_text="What the stages are counted from")
    raised_at = models.DateTimeField()
    turn = models.PositiveIntegerField(default=0, db_default=0, help_text="How often this stage was said again")
    next_at = models.DateTimeField(null=True)
    unreached = models.TextField(blank=True, default="", help_text="Whom this stage has no way to tell, and why")
    cleared_at = models.DateTimeField(null=True, help_text="When the all-clear was written")
    words = models.TextField(blank=True, default="", db_default="", help_text="What came with a call for help")
    closed_at = models.DateTimeField(null=True, help_text="When a keeper closed a call for help")
    closed_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+")
    closed_note = models.CharField(max_length=300, blank=True, default="", db_default="")

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["outing", "kind", "deadline_number", "occasion", "stage"],
                name="one_alarm_an_occasion_and_stage",
            )
        ]
        indexes = [
            models.Index(fields=["id"], condition=Q(cleared_at__isnull=True), name="alarms_not_cleared"),
            models.Index(
                fields=["next_at"],
                condition=Q(cleared_at__isnull=True, next_at__isnull=False),
                name="alarms_to_climb",
            ),
        ]

    def __str__(self) -> str:
        return f"alarm {self.pk} for {self.outing}"


class Acknowledgement(models.Model):
    """A named person answers for an alarm until a time they promise. Only ever added."""

    alarm = models.ForeignKey(Alarm, on_delete=models.CASCADE, related_name="acknowledgements")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+")
    name = models.CharField(max_length=120)
    at = models.DateTimeField()
    promised_until = models.DateTimeField()
    note = models.CharField(max_length=300, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(promised_until__gt=F("at")), name="a_promise_is_for_later"),
            models.CheckConstraint(condition=~Q(name=""), name="whoever_answers_has_a_name"),
        ]

    def __str__(self) -> str:
        return f"{self.name} answers for {self.alarm_id} until {self.promised_until}"


class Duty(MadeOnce):
    """A ghillie or owner stands by from one instant to another. A water without any has all its keepers by."""

    fishery = models.ForeignKey(Fishery, on_delete=models.CASCADE, related_name="duties")
    user = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="+")
    from_at = models.DateTimeField()
    until_at = models.DateTimeField()

    class Meta(MadeOnce.Meta):
        verbose_name_plural = "duties"
        constraints = [
            *MadeOnce.Meta.constraints,
            models.CheckConstraint(condition=Q(until_at__gt=F("from_at")), name="a_duty_ends_after_it_starts"),
        ]
        indexes = [models.Index(fields=["fishery", "until_at"], name="duties_by_end")]

    def __str__(self) -> str:
        return f"{self.user} from {self.from_at} to {self.until_at}"
