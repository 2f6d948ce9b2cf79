"""The ways a message leaves the house.

A channel is called with one delivery and answers with the provider's own id for it, or raises. What
the provider says later (a receipt, a text from an angler) comes in by `safety.services.gateway`.
"""

import json
import logging
from typing import Protocol

from django.conf import settings
from django.core.mail import EmailMessage
from django.utils import timezone

from beats.outbound import OUT, ask
from safety import signing
from safety.models import Delivery

log = logging.getLogger("rodtally.alarm")
DOOR = OUT


class Channel(Protocol):
    """Takes one delivery. Returns the provider's id, or nothing where it gives none; raises when not taken."""

    def __call__(self, delivery: Delivery) -> str | None: ...


def by_email(delivery: Delivery) -> str:
    """Hand it to the mail server; the same delivery always has the same Message-ID."""
    message_id = f"<{delivery.pk}@rodtally>"
    message = EmailMessage(
        subject=delivery.subject,
        body=delivery.body,
        to=[delivery.recipient],
        headers={"Message-ID": message_id, "X-Priority": "1"},
    )
    if message.send() != 1:
        raise OSError("the mail server took nothing")
    return message_id


def by_log(delivery: Delivery) -> None:
    """Write it where whoever runs the service will see it: the subject, not the personal details."""
    log.warning("%s [alarm %s]", delivery.subject, delivery.alarm_id)


def by_gateway(delivery: Delivery) -> str:
    """POST it to the gateway that sends texts or rings, signed by Standard Webhooks.

    The delivery's own id is the message's id, so that a gateway that remembers ids sends a repeat once.
    """
    body = json.dumps(
        {
            "type": f"message.{delivery.channel}",
            "data": {"reference": str(delivery.pk), "to": delivery.recipient, "text": f"{delivery.body}"},
        }
    ).encode()
    signed = signing.headers(
        settings.GATEWAY_SECRETS[0], message_id=str(delivery.pk), at=timezone.now(), body=body
    )
    return _id_in(ask(settings.GATEWAY_URL, body=body, headers=signed, door=DOOR))


def _id_in(answer: bytes) -> str:
    """The gateway's id of the message; none is no fault, since our own reference names it too."""
    try:
        found = json.loads(answer)
    except ValueError:
        return ""
    given = found.get("id") if isinstance(found, dict) else None
    return str(given)[:120] if isinstance(given, str | int) else ""


CHANNELS: dict[str, Channel] = {
    Delivery.Channel.EMAIL: by_email,
    Delivery.Channel.TEXT: by_gateway,
    Delivery.Channel.VOICE: by_gateway,
    Delivery.Channel.LOG: by_log,
}
