"""The ways a message leaves the house.

A channel is called with one delivery and answers with the provider's own id for it, or raises. What
the provider says later (a receipt, a text from an angler) comes in by `safety.services.gateway`.
"""

import json
import logging
from email.utils import parseaddr
from typing import Protocol

from django.conf import settings
from django.core.mail import EmailMessage
from django.urls import reverse
from django.utils import timezone

from beats.models import Membership
from beats.outbound import OUT, ask, post
from beats.queries import role_in
from safety import push, signing
from safety.models import Delivery, PushAddress

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
    """Write it where whoever runs the service will see it: what it is about, by number, and nobody's name."""
    about = f"alarm {delivery.alarm_id}" if delivery.alarm_id else f"drill {delivery.drill_id}"
    log.warning("%s [%s]", delivery.get_about_display(), about, extra={"outing_id": delivery.about_outing})


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


ABOUT = Delivery.About
KEPT_FOR_S = {ABOUT.REMINDER: 30 * 60, ABOUT.ALL_CLEAR: 12 * 60 * 60}
USUALLY_KEPT_S = 60 * 60
"""How long a push service may hold a message for a phone that is off. Common practice, no source."""


def by_push(delivery: Delivery) -> None:
    """Seal it for one phone and hand it to the phone's push service. That it took it says nothing of anybody.

    RFC 8030, 5.3: high is for what cannot wait for the phone to be looked at.
    """
    address = PushAddress.of(delivery.recipient)
    if address is None:
        raise LookupError("the push address was forgotten meanwhile")
    body = push.payload(delivery.subject, delivery.body, _to_open(delivery, address))
    headers = push.headers(
        settings.WEB_PUSH_KEY, address.endpoint, contact=f"mailto:{parseaddr(settings.DEFAULT_FROM_EMAIL)[1]}",
        at=timezone.now(), ttl_s=KEPT_FOR_S.get(delivery.about, USUALLY_KEPT_S),
        urgency="normal" if delivery.about == ABOUT.ALL_CLEAR else "high",
    )  # fmt: skip
    sealed = push.sealed(body, phone_key=address.public_key, auth_secret=address.auth_secret)
    post(address.endpoint, body=sealed, headers=headers, door=DOOR)


def _to_open(delivery: Delivery, address: PushAddress) -> dict[str, str | int | None]:
    """What the page needs to open the right thing, and to replace what it showed of it before."""
    of = delivery.alarm_id or delivery.recall_id or delivery.outing_id or delivery.drill_id
    return {
        "open": _opens(delivery, address), "about": delivery.about, "alarm": delivery.alarm_id,
        "outing": delivery.outing_id, "recall": delivery.recall_id, "tag": f"{delivery.about}-{of}",
    }  # fmt: skip


def _opens(delivery: Delivery, address: PushAddress) -> str:
    """For a keeper the alarm itself, where it is answered; for everybody else the page that knows who they are."""
    if delivery.alarm is not None:
        fishery = delivery.alarm.outing.beat.fishery
        if role_in(address.user, fishery) in Membership.KEEPERS:
            return reverse("water-alarm", args=[fishery.slug, delivery.alarm_id])
    return settings.WEB_PUSH_OPENS


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
    Delivery.Channel.PUSH: by_push,
    Delivery.Channel.LOG: by_log,
}
