"""The watch's tables: alarms and who answers for them, messages (an outbox), recalls, drills, incidents, pulse."""

import uuid

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from beats.models import Beat, Fishery
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


class Recall(MadeOnce):
    """Rods called off the water: by hand or by condition. `pools` lists ids; empty means the whole beat."""

    class Cause(models.TextChoices):
        HAND = "hand"
        LEVEL = "level"
        RISE = "rise"
        POOL = "pool"
        TIDE = "tide"
        DARK = "dark"
        WARNING = "warning"

    beat = models.ForeignKey(Beat, on_delete=models.PROTECT, related_name="recalls")
    pools = models.JSONField(default=list, blank=True)
    cause = models.CharField(max_length=8, choices=Cause, default=Cause.HAND)
    reason = models.CharField(max_length=200)
    called_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True)

    class Meta(MadeOnce.Meta):
        constraints = [
            *MadeOnce.Meta.constraints,
            models.UniqueConstraint(
                fields=["beat", "cause"], condition=Q(ended_at__isnull=True), name="one_recall_a_cause_at_a_time"
            ),
        ]

    def __str__(self) -> str:
        return f"recall {self.pk} of {self.beat}: {self.reason}"


class RecallCall(models.Model):
    """One rod called by one recall: told when, answered when, and by when the watch wants to hear more."""

    recall = models.ForeignKey(Recall, on_delete=models.CASCADE, related_name="calls")
    outing = models.ForeignKey(Outing, on_delete=models.CASCADE, related_name="calls")
    told_at = models.DateTimeField()
    answered_at = models.DateTimeField(null=True)
    due_at = models.DateTimeField(help_text="By when they answer, or, once they did, are out of the water")
    number = models.PositiveSmallIntegerField(default=1)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["recall", "outing"], name="one_call_a_rod")]

    def __str__(self) -> str:
        return f"{self.outing} called by {self.recall_id}"


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
        WAITING = "waiting"
        SENDING = "sending"
        SENT = "sent"
        FAILED = "failed"
        DELIVERED = "delivered"
        GIVEN_UP = "given_up"
        NOT_NEEDED = "not_needed"

    class About(models.TextChoices):
        OVERDUE = "overdue"
        ALL_CLEAR = "all_clear"
        REMINDER = "reminder"
        RECALL = "recall"
        DRILL = "drill"

    class Channel(models.TextChoices):
        EMAIL = "email"
        TEXT = "text"
        VOICE = "voice"
        LOG = "log"

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    alarm = models.ForeignKey(Alarm, on_delete=models.CASCADE, null=True, related_name="deliveries")
    outing = models.ForeignKey(Outing, on_delete=models.CASCADE, null=True, related_name="reminders")
    recall = models.ForeignKey(Recall, on_delete=models.CASCADE, null=True, related_name="deliveries")
    drill = models.ForeignKey(Drill, on_delete=models.CASCADE, null=True, related_name="deliveries")
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
                fields=["next_try_at"],
                condition=Q(state__in=["waiting", "sending"]),
                name="deliveries_to_send",
            ),
            models.Index(fields=["channel", "sent_at"], name="deliveries_by_channel"),
            models.Index(
                fields=["written_at"],
                condition=~Q(state__in=["sent", "delivered", "not_needed"]),
                name="deliveries_not_gone",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.about} to {self.recipient} by {self.channel}"


class GatewayEvent(models.Model):
    """What a gateway told us, by the id it signed: told again, it changes nothing."""

    webhook_id = models.CharField(max_length=120, unique=True)
    kind = models.CharField(max_length=40)
    received_at = models.DateTimeField()
    outcome = models.CharField(max_length=200)

    def __str__(self) -> str:
        return f"{self.kind}: {self.outcome}"


class Incident(MadeOnce):
    """What happened, or nearly did. Its timeline is a copy without telephone numbers or addresses of mail,
    so that it outlives the personal facts it came from."""

    class Kind(models.TextChoices):
        ALARM = "alarm"
        NEAR_MISS = "near_miss"

    fishery = models.ForeignKey(Fishery, on_delete=models.CASCADE, related_name="incidents")
    outing = models.ForeignKey(Outing, on_delete=models.SET_NULL, null=True, related_name="incidents")
    kind = models.CharField(max_length=10, choices=Kind)
    title = models.CharField(max_length=200)
    what_happened = models.TextField(blank=True)
    opened_at = models.DateTimeField()
    timeline = models.JSONField(default=list)

    class Meta(MadeOnce.Meta):
        pass

    def __str__(self) -> str:
        return self.title


class Pulse(models.Model):
    """Proof that a loop of the watch is alive: when it last finished a round."""

    name = models.CharField(max_length=40, primary_key=True)
    beaten_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.name} at {self.beaten_at}"
