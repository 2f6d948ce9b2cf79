"""What guests and keepers are told of lets: the permit by e-mail, and calendars that follow."""

import uuid

from django.conf import settings
from django.db import models
from django.db.models import Q

from beats.models import Beat, Fishery
from beats.shared.once import MadeOnce
from beats.shared.outbox import Outgoing
from bookings.models.book import Guest, Let


class Paper(Outgoing):
    """One letter to whoever booked, for one edition of their let: confirmation and permit, or cancellation."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    let = models.ForeignKey(Let, on_delete=models.CASCADE, related_name="papers")
    edition = models.PositiveIntegerField()
    recipient = models.CharField(max_length=254, blank=True)
    subject = models.CharField(max_length=200, blank=True)

    class Meta(Outgoing.Meta):
        constraints = [models.UniqueConstraint(fields=["let", "edition"], name="one_letter_of_an_edition")]

    def __str__(self) -> str:
        return f"edition {self.edition} of {self.let}"


class DiaryDay(models.Model):
    """A let's day as calendars have it, for the beat (no guest) or for one guest.

    Kept when the day is taken off the let, so that calendars can be told it is cancelled.
    """

    let = models.ForeignKey(Let, on_delete=models.CASCADE, related_name="diary")
    day = models.DateField()
    guest = models.ForeignKey(Guest, on_delete=models.PROTECT, null=True, related_name="diary")
    beat = models.ForeignKey(Beat, on_delete=models.PROTECT, related_name="diary")
    rods = models.PositiveSmallIntegerField()
    sequence = models.PositiveIntegerField(default=0)
    changed_at = models.DateTimeField()
    gone_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["let", "day"], condition=Q(guest__isnull=True), name="one_diary_day_of_a_beat"
            ),
            models.UniqueConstraint(fields=["let", "day", "guest"], name="one_diary_day_of_a_guest"),
        ]
        indexes = [models.Index(fields=["beat", "day"], name="diary_by_beat_and_day")]

    def __str__(self) -> str:
        return f"{self.day} of {self.let}"


class CalendarFeed(MadeOnce):
    """An address a calendar asks again and again; only the secret's SHA-256 is kept."""

    fishery = models.ForeignKey(Fishery, on_delete=models.CASCADE, related_name="feeds")
    beat = models.ForeignKey(Beat, on_delete=models.CASCADE, null=True, related_name="feeds")
    guest = models.ForeignKey(Guest, on_delete=models.CASCADE, null=True, related_name="feeds")
    ghillie = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, null=True, related_name="feeds"
    )
    label = models.CharField(max_length=80)
    digest = models.CharField(max_length=64, unique=True, editable=False)
    created_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True)
    last_used_at = models.DateTimeField(null=True)

    class Meta(MadeOnce.Meta):
        constraints = [
            *MadeOnce.Meta.constraints,
            models.CheckConstraint(
                condition=Q(beat__isnull=False, guest__isnull=True, ghillie__isnull=True)
                | Q(beat__isnull=True, guest__isnull=False, ghillie__isnull=True)
                | Q(beat__isnull=True, guest__isnull=True, ghillie__isnull=False),
                name="a_feed_is_of_one_thing",
            ),
        ]

    def __str__(self) -> str:
        return self.label
