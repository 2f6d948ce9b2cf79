"""Letters to those for whom weeks of a coming season are held."""

import uuid

from django.db import models

from beats.shared.outbox import Outgoing
from bookings.models.book import Guest
from bookings.models.letting import LettingSeason


class TenancyNotice(Outgoing):
    """One letter to one guest about the weeks of a season held for them; `Offer` says which.

    The first letter is `Offer.notice`, the reminder `Offer.reminder`.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    season = models.ForeignKey(LettingSeason, on_delete=models.CASCADE, related_name="notices")
    guest = models.ForeignKey(Guest, on_delete=models.CASCADE, related_name="tenancy_notices")
    recipient = models.CharField(max_length=254, blank=True)
    subject = models.CharField(max_length=200, blank=True)

    def __str__(self) -> str:
        return f"letter about {self.season} to {self.guest}"
