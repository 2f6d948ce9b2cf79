"""What the gateway tells us: receipts of messages, and texts from anglers.

Each message is signed and has an id; the id is kept, so that the same one told again changes nothing.
A receipt may come late, twice, out of order or never: a delivery's state only moves forward.
"""

import datetime as dt
import uuid
from dataclasses import dataclass
from typing import Any

from django.db import IntegrityError, transaction
from django.db.models import Q

from beats.models import Membership
from beats.phones import e164
from beats.queries import zone_of
from beats.shared.limits import TooOften, spend
from beats.shared.refusals import Refusal
from safety import texts
from safety.models import Delivery, GatewayEvent, RecallCall
from safety.services.answering import ask_for_help
from safety.services.calling import NotCalled, answer_recall
from safety.services.deliver import hurry_next
from sessions.models import Outing
from sessions.services.outings import AlreadyBack, check_out, extend_by, say_fine

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
HOUR = dt.timedelta(hours=1)
CODES_AN_HOUR = 10
"""A code is one of 9000 and a number can be forged: in ten hours so many an hour find it in 1 case of 90."""
TOO_OFTEN = (
    "That number has sent too many codes within the hour. Nothing was changed. Ring the fishery; in danger "
    "ring 999 or 112. HELP is still heard."
)
UNKNOWN = "We know no one on the water under that number and code. Nothing was changed. "


@dataclass(frozen=True)
class Told:
    """What became of an event, and what the gateway may text back (empty: nothing)."""

    outcome: str
    reply: str = ""


def take_event(webhook_id: str, kind: str, data: dict[str, Any], *, now: dt.datetime) -> Told:
    """Act on one verified event, once. The note of it and what it does are one commit."""
    try:
        with transaction.atomic():
            event = GatewayEvent.objects.create(webhook_id=webhook_id, kind=kind, received_at=now, outcome="")
            told = _texted(data, now) if kind == RECEIVED else _receipt(kind, data, now)
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


def _texted(data: dict[str, Any], now: dt.datetime) -> Told:
    try:
        number = e164(str(data.get("from") or ""))
    except ValueError:
        return Told("from no number")
    asked = texts.understand(str(data.get("text") or "")[:500])
    if isinstance(asked, str):
        return Told("not understood", asked)
    try:
        outing, why = _outing_of(number, asked, now)
        if outing is None:
            return Told(why, UNKNOWN + ("Ring 999 or 112." if asked.verb is texts.Verb.HELP else texts.HOW))
        return _act(outing, asked, now)
    except AlreadyBack as refusal:
        return Told("already back", refusal.sentence)
    except Refusal as refusal:
        return Told(f"refused: {refusal.code}", refusal.sentence)


def _outing_of(number: str, asked: texts.Asked, now: dt.datetime) -> tuple[Outing | None, str]:
    """The open outing a text is about: the angler's own, or one whose code a keeper of the water names.

    Without its code only HELP is heard, since a number can be forged.
    """
    open_ones = Outing.objects.filter(checked_out_at__isnull=True).select_related("guest", "beat__fishery", "pool")
    own = Q(guest__phone=number)
    kept = Q(
        beat__fishery__memberships__user__phone=number, beat__fishery__memberships__role__in=Membership.KEEPERS,
        beat__fishery__memberships__user__is_active=True,
    )  # fmt: skip
    if asked.verb is texts.Verb.HELP:
        return open_ones.filter(own).order_by("due_back_at").first(), "HELP from an unknown number"
    if not asked.code:
        return None, "no code"
    try:
        spend("text a code from", number, allowed=CODES_AN_HOUR, each=HOUR, now=now)
    except TooOften:
        raise TooOften(TOO_OFTEN) from None
    found = list(open_ones.filter(own | kept, code=asked.code).distinct()[:2])
    return (found[0], "") if len(found) == 1 else (None, "no such code from that number")


def _act(outing: Outing, asked: texts.Asked, now: dt.datetime) -> Told:
    name = outing.guest.name
    if asked.verb is texts.Verb.HELP:
        ask_for_help(outing, by=None, now=now)
        return Told("help", "The keepers are being told. We have not rung 999: ring 999 or 112 if you can.")
    if asked.verb is texts.Verb.OUT:
        check_out(outing, by=None, now=now)
        return Told("out", f"{name} is checked out.")
    if asked.verb is texts.Verb.LATE:
        changed = extend_by(outing, minutes=asked.minutes, by=None, now=now)
        due = changed.due_back_at.astimezone(zone_of(outing.beat.fishery))
        return Told("late", f"{name}: due off the water {due:%H:%M} now. Check out then.")
    say_fine(outing, by=None, now=now)
    for call in RecallCall.objects.filter(outing=outing, recall__ended_at__isnull=True, answered_at__isnull=True):
        try:
            answer_recall(call.recall, outing, by=None, now=now)
        except NotCalled:
            continue
    return Told(
        "ok",
        f"{name}: heard. Your time back stays "
        f"{outing.due_back_at.astimezone(zone_of(outing.beat.fishery)):%H:%M}.",
    )
