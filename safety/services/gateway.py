"""What the gateway tells us: receipts of messages, and texts from anglers.

Each message is signed and has an id; the id is kept, so that the same one told again changes nothing.
A receipt may come late, twice, out of order or never: a delivery's state only moves forward.
"""

import datetime as dt
import uuid
from typing import Any

from django.db import IntegrityError, transaction

from safety.models import Delivery, GatewayEvent
from safety.services.deliver import hurry_next
from safety.services.incoming_texts import Told, take_text

State = Delivery.State
FORWARD = {
    "message.delivered": (
        State.DELIVERED,
        (State.WAITING, State.SENDING, State.SENT, State.FAILED, State.GIVEN_UP),
    ),
    "message.failed": (State.FAILED, (State.SENDING, State.SENT)),
}
RECEIVED = "message.received"
KINDS = (*FORWARD, RECEIVED)


def take_event(webhook_id: str, kind: str, data: dict[str, Any], *, now: dt.datetime) -> Told:
    """Act on one verified event, once. The note of it and what it does are one commit."""
    try:
        with transaction.atomic():
            event = GatewayEvent.objects.create(webhook_id=webhook_id, kind=kind, received_at=now, outcome="")
            told = take_text(data, now=now) if kind == RECEIVED else _receipt(kind, data, now)
            event.outcome = told.outcome[:200]
            event.save(update_fields=["outcome"])
            return told
    except IntegrityError:
        if not GatewayEvent.objects.filter(webhook_id=webhook_id).exists():
            raise
        return Told("told before; nothing was changed")


def _receipt(kind: str, data: dict[str, Any], now: dt.datetime) -> Told:
    state, earlier = FORWARD[kind]
    delivery = _named(data)
    if delivery is None:
        return Told("no such message")
    moved = Delivery.objects.filter(pk=delivery.pk, state__in=earlier).update(
        state=state,
        receipt_at=now,
        last_fault=str(data.get("reason") or "")[:300] if state == State.FAILED else "",
    )
    if not moved:
        return Told(f"kept as {delivery.state}")
    if state == State.DELIVERED and delivery.sent_at is None:
        Delivery.objects.filter(pk=delivery.pk).update(sent_at=now)  # it arrived before we noted that it left
    if state == State.FAILED:
        hurry_next(delivery, now=now)
    return Told(str(state))


def _named(data: dict[str, Any]) -> Delivery | None:
    """By our own reference, or by the gateway's id."""
    try:
        return Delivery.objects.filter(pk=uuid.UUID(str(data.get("reference")))).first()
    except ValueError:
        given = str(data.get("id") or "")
        return Delivery.objects.filter(provider_id=given, channel__in=("text", "voice")).first() if given else None
