"""Signing in by a code, and how often anything may be tried."""

import datetime as dt
import uuid

from django.conf import settings
from django.db import models
from django.db.models import Q

from beats.shared.outbox import Outgoing

CODE_LIFE = dt.timedelta(minutes=10)
"""ASVS 5.0, 6.5.5: an out-of-band code lives no longer than ten minutes."""
TRIES = 5


class SignIn(Outgoing):
    """A code asked for by one browser; only that browser can use it. The code itself is nowhere kept.

    `user` is null for an address nobody has: the browser is told the same, and nothing is sent.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    user = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, null=True, related_name="+")
    language = models.CharField(max_length=10, default="en-gb")
    expires_at = models.DateTimeField()
    tries = models.PositiveSmallIntegerField(default=0)
    used_at = models.DateTimeField(null=True)

    class Meta(Outgoing.Meta):
        constraints = [models.CheckConstraint(condition=Q(tries__lte=TRIES), name="no_more_tries_than_allowed")]

    def __str__(self) -> str:
        return f"sign-in of {self.written_at}"


class Spent(models.Model):
    """How much of an allowance is spent since `since`; `key` is a digest of what is counted."""

    key = models.CharField(max_length=64, primary_key=True)
    since = models.DateTimeField()
    times = models.PositiveIntegerField()

    class Meta:
        indexes = [models.Index(fields=["since"], name="allowances_by_age")]

    def __str__(self) -> str:
        return f"{self.times} since {self.since}"
