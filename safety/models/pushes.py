"""Where a person's phone takes pushes: an extra copy of what they are told, and proof of nothing."""

from urllib.parse import urlsplit

from django.conf import settings
from django.db import models

NAMED = "push address "


class PushAddress(models.Model):
    """One browser of one person. Whoever knows `endpoint` may disturb that phone: it is told to nobody."""

    user = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="push_addresses")
    endpoint = models.CharField(max_length=1000, unique=True)
    public_key = models.CharField(max_length=100)
    auth_secret = models.CharField(max_length=40)
    label = models.CharField(max_length=80, blank=True)
    made_at = models.DateTimeField()

    class Meta:
        verbose_name_plural = "push addresses"

    def __str__(self) -> str:
        return self.recipient

    @property
    def recipient(self) -> str:
        """How a message names it, without saying where it is."""
        return f"{NAMED}{self.pk}"

    @property
    def host(self) -> str:
        return urlsplit(self.endpoint).hostname or ""

    @classmethod
    def of(cls, recipient: str) -> "PushAddress | None":
        """The address a message names; None when it was forgotten."""
        return cls.objects.filter(pk=int(recipient.removeprefix(NAMED))).first()
