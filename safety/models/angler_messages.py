"""Text messages from anglers, kept word for word for the keepers."""

from django.db import models

from beats.models import Fishery
from bookings.models import Guest
from sessions.models import Outing


class AnglerMessage(models.Model):
    """One text message, with the outing it is about where that is known. Only ever added."""

    fishery = models.ForeignKey(Fishery, on_delete=models.CASCADE, related_name="angler_messages")
    guest = models.ForeignKey(Guest, on_delete=models.CASCADE, null=True, related_name="text_messages")
    outing = models.ForeignKey(Outing, on_delete=models.SET_NULL, null=True, related_name="text_messages")
    sender = models.CharField(max_length=20, blank=True, help_text="The number it came from, E.164")
    text = models.TextField(help_text="Every word, as it came")
    received_at = models.DateTimeField()
    outcome = models.CharField(max_length=200, help_text="What the service made of it")
    understood = models.BooleanField(help_text="False: a person must read it")

    class Meta:
        indexes = [
            models.Index(fields=["fishery", "-received_at"], name="safety_messages_by_time"),
            models.Index(fields=["outing", "-received_at"], name="safety_messages_by_outing"),
        ]

    def __str__(self) -> str:
        return f"text of {self.received_at}: {self.outcome}"
