"""Signed messages between programs: ours to others about lets, others' to us about payments."""

import uuid

from django.db import models
from django.db.models import Q

from beats.models import Fishery
from beats.shared.once import MadeOnce
from beats.shared.outbox import Outgoing


class Hook(MadeOnce):
    """Where the owner wants to be told of lets. The secret signs every message, so it is kept as it is."""

    fishery = models.ForeignKey(Fishery, on_delete=models.CASCADE, related_name="hooks")
    url = models.URLField(max_length=500, help_text="https only")
    label = models.CharField(max_length=80)
    secret = models.CharField(max_length=80, editable=False)
    created_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True)

    class Meta(MadeOnce.Meta):
        constraints = [
            *MadeOnce.Meta.constraints,
            models.CheckConstraint(condition=Q(url__startswith="https://"), name="a_hook_is_told_over_https"),
        ]

    def __str__(self) -> str:
        return self.label


class HookMessage(Outgoing):
    """One message to one hook, written in the transaction of the deed it tells of."""

    class Event(models.TextChoices):
        CONFIRMED = "let.confirmed"
        CHANGED = "let.changed"
        CANCELLED = "let.cancelled"

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    hook = models.ForeignKey(Hook, on_delete=models.CASCADE, related_name="messages")
    event = models.CharField(max_length=20, choices=Event)
    body = models.TextField(help_text="The JSON as it is signed and sent")

    class Meta(Outgoing.Meta):
        pass

    def __str__(self) -> str:
        return f"{self.event} to {self.hook}"


class PaymentKey(MadeOnce):
    """The shared secret of a program that may report payments to one fishery."""

    fishery = models.ForeignKey(Fishery, on_delete=models.CASCADE, related_name="payment_keys")
    label = models.CharField(max_length=80)
    secret = models.CharField(max_length=80, editable=False)
    created_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True)

    class Meta(MadeOnce.Meta):
        pass

    def __str__(self) -> str:
        return self.label
