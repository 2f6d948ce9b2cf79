"""The watch's tables: alarms, their deliveries (an outbox), and the pulse of the watch itself."""

import uuid

from django.db import models
from django.db.models import Q

from sessions.models import Outing


class Alarm(models.Model):
    """A missed deadline, noted once: the unique constraint is what makes it exactly once."""

    outing = models.ForeignKey(Outing, on_delete=models.PROTECT, related_name="alarms")
    deadline_number = models.PositiveIntegerField()
    stage = models.PositiveSmallIntegerField(default=1)
    due_back_at = models.DateTimeField(help_text="The deadline that was missed")
    raised_at = models.DateTimeField()
    cleared_at = models.DateTimeField(null=True, help_text="When the all-clear was written")

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["outing", "deadline_number", "stage"], name="one_alarm_a_deadline_and_stage"
            )
        ]
        indexes = [models.Index(fields=["id"], condition=Q(cleared_at__isnull=True), name="alarms_not_cleared")]

    def __str__(self) -> str:
        return f"alarm {self.pk} for {self.outing}"


class Delivery(models.Model):
    """One message to one recipient by one channel, written with its alarm and sent later.

    A sender takes it for a short lease, sends outside any transaction, then notes what happened. A
    sender that dies lets the lease run out and another takes it: sent at least once.
    """

    class State(models.TextChoices):
        WAITING = "waiting"
        SENDING = "sending"
        SENT = "sent"
        GIVEN_UP = "given_up"

    class About(models.TextChoices):
        OVERDUE = "overdue"
        ALL_CLEAR = "all_clear"

    class Channel(models.TextChoices):
        EMAIL = "email"
        LOG = "log"

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    alarm = models.ForeignKey(Alarm, on_delete=models.CASCADE, related_name="deliveries")
    about = models.CharField(max_length=10, choices=About)
    channel = models.CharField(max_length=10, choices=Channel)
    recipient = models.CharField(max_length=254)
    subject = models.CharField(max_length=200)
    body = models.TextField()
    state = models.CharField(max_length=10, choices=State, default=State.WAITING)
    written_at = models.DateTimeField()
    next_try_at = models.DateTimeField()
    lease = models.UUIDField(null=True, editable=False)
    attempts = models.PositiveSmallIntegerField(default=0)
    sent_at = models.DateTimeField(null=True)
    last_fault = models.CharField(max_length=300, blank=True)

    class Meta:
        verbose_name_plural = "deliveries"
        constraints = [
            models.UniqueConstraint(
                fields=["alarm", "about", "channel", "recipient"], name="one_delivery_a_recipient"
            )
        ]
        indexes = [
            models.Index(
                fields=["next_try_at"],
                condition=Q(state__in=["waiting", "sending"]),
                name="deliveries_to_send",
            )
        ]

    def __str__(self) -> str:
        return f"{self.about} to {self.recipient} by {self.channel}"


class Pulse(models.Model):
    """Proof that a loop of the watch is alive: when it last finished a round."""

    name = models.CharField(max_length=40, primary_key=True)
    beaten_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.name} at {self.beaten_at}"
