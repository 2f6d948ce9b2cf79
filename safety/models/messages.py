"""Messages to people (an outbox), drills, and what the gateway told us."""

import uuid

from django.conf import settings
from django.db import models
from django.db.models import Q

from beats.models import Fishery
from beats.shared.once import MadeOnce
from beats.shared.phrases import say
from safety.models.alarms import Alarm
from safety.models.recalls import Recall
from safety.priority import Priority
from sessions.models import Outing


class Drill(MadeOnce):
    """A test alarm, marked as one, from the watch to a keeper's answer, with the time of every step."""

    fishery = models.ForeignKey(Fishery, on_delete=models.CASCADE, related_name="drills")
    asked_at = models.DateTimeField()
    raised_at = models.DateTimeField(null=True, help_text="When a sweep wrote its messages")
    sent_at = models.DateTimeField(null=True, help_text="When the last of them was taken by its channel")
    answered_at = models.DateTimeField(null=True, help_text="When a keeper answered it")
    answered_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )

    class Meta(MadeOnce.Meta):
        indexes = [models.Index(fields=["id"], condition=Q(sent_at__isnull=True), name="drills_under_way")]

    def __str__(self) -> str:
        return f"drill {self.pk} of {self.fishery}"


class Delivery(models.Model):
    """One message to one recipient by one channel, written with its cause and sent later.

    A sender takes it for a short lease, sends outside any transaction, then notes what happened. A
    sender that dies lets the lease run out and another takes it: sent at least once. Its state only
    moves forward, whatever receipts come, in whatever order.
    """

    class State(models.TextChoices):
        WAITING = "waiting", say("Waiting")
        SENDING = "sending", say("Sending")
        SENT = "sent", say("Sent")
        FAILED = "failed", say("Failed")
        DELIVERED = "delivered", say("Delivered")
        GIVEN_UP = "given_up", say("Given Up")
        NOT_NEEDED = "not_needed", say("Not Needed")

    class About(models.TextChoices):
        OVERDUE = "overdue"
        ALL_CLEAR = "all_clear"
        REMINDER = "reminder"
        RECALL = "recall"
        DRILL = "drill"
        MESSAGE = "message"
        CHECK_IN = "check_in"
        RESUMED = "resumed"

    class Channel(models.TextChoices):
        EMAIL = "email", say("Email")
        TEXT = "text", say("Text")
        VOICE = "voice", say("Voice")
        PUSH = "push", say("Push")
        LOG = "log", say("Log")

    class Fault(models.TextChoices):
        """What a failed attempt says about the channel."""

        ADDRESS = "address", say("This address was refused")
        SERVER = "server", say("The server answered with an error")
        CHANNEL = "channel", say("The server could not be reached, or did not let us in")

    class Closing(models.TextChoices):
        """How a message that did not arrive was dealt with."""

        ACKNOWLEDGED = "acknowledged", say("Acknowledged")
        CORRECTED = "corrected", say("Address corrected")
        EXPIRED = "expired", say("No longer matters")

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    alarm = models.ForeignKey(Alarm, on_delete=models.CASCADE, null=True, related_name="deliveries")
    outing = models.ForeignKey(Outing, on_delete=models.CASCADE, null=True, related_name="reminders")
    recall = models.ForeignKey(Recall, on_delete=models.CASCADE, null=True, related_name="deliveries")
    drill = models.ForeignKey(Drill, on_delete=models.CASCADE, null=True, related_name="deliveries")
    fishery = models.ForeignKey(
        Fishery, on_delete=models.CASCADE, null=True, related_name="+", db_index=False,
        help_text="Whose message it is: fisheries take turns at a channel",
    )  # fmt: skip
    priority = models.PositiveSmallIntegerField(
        default=int(Priority.ALARM), db_default=int(Priority.ALARM), help_text="Lower leaves first: see Priority"
    )
    about = models.CharField(max_length=10, choices=About)
    turn = models.PositiveIntegerField(default=0, db_default=0)
    channel = models.CharField(max_length=10, choices=Channel)
    recipient = models.CharField(max_length=254)
    person = models.CharField(
        max_length=60, blank=True, default="", help_text="Whose it is: the next channel asks"
    )
    rank = models.PositiveSmallIntegerField(default=0, db_default=0, help_text="0 at once; 1 if nothing arrived")
    subject = models.CharField(max_length=200)
    body = models.TextField()
    state = models.CharField(max_length=10, choices=State, default=State.WAITING)
    written_at = models.DateTimeField()
    next_try_at = models.DateTimeField()
    lease = models.UUIDField(null=True, editable=False)
    attempts = models.PositiveSmallIntegerField(default=0)
    sent_at = models.DateTimeField(null=True)
    provider_id = models.CharField(max_length=120, blank=True, default="")
    receipt_at = models.DateTimeField(null=True)
    last_fault = models.CharField(max_length=300, blank=True)
    fault_kind = models.CharField(max_length=8, choices=Fault, blank=True, default="", db_default="")
    failed_at = models.DateTimeField(null=True, help_text="When it last failed")
    closed_at = models.DateTimeField(null=True, help_text="When its failure was dealt with")
    closed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+", db_index=False
    )
    closing = models.CharField(max_length=12, choices=Closing, blank=True, default="", db_default="")

    class Meta:
        verbose_name_plural = "deliveries"
        constraints = [
            models.UniqueConstraint(
                fields=["alarm", "about", "turn", "channel", "recipient"], name="one_delivery_a_recipient"
            ),
            models.UniqueConstraint(
                fields=["outing", "about", "turn", "channel", "recipient"],
                condition=Q(alarm__isnull=True),
                name="one_reminder_a_rod_and_turn",
            ),
            models.UniqueConstraint(fields=["drill", "channel", "recipient"], name="one_message_a_drill"),
        ]
        indexes = [
            models.Index(
                fields=["channel", "priority", "next_try_at"],
                condition=Q(state__in=["waiting", "sending"]),
                name="safety_delivery_to_send",
            ),
            models.Index(fields=["channel", "sent_at"], name="deliveries_by_channel"),
            models.Index(
                fields=["written_at"],
                condition=~Q(state__in=["sent", "delivered", "not_needed"]) & Q(closed_at__isnull=True),
                name="safety_delivery_unclosed",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.about} to {self.recipient} by {self.channel}"

    @property
    def about_outing(self) -> int | None:
        """The outing it is about, by itself or through its alarm; a drill and a recall have none."""
        return self.outing_id or (self.alarm.outing_id if self.alarm else None)


class GatewayEvent(models.Model):
    """What a gateway told us, by the id it signed: told again, it changes nothing."""

    webhook_id = models.CharField(max_length=120, unique=True)
    kind = models.CharField(max_length=40)
    received_at = models.DateTimeField()
    outcome = models.CharField(max_length=200)

    def __str__(self) -> str:
        return f"{self.kind}: {self.outcome}"
