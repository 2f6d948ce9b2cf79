"""Telling other programs of lets: messages written with the deed, signed, and sent by a sweep.

A message holds no name and no telephone number: whoever may know more asks with a token of their own.
"""

import datetime as dt
import json
from collections.abc import Callable
from typing import Any

from django.db import transaction

from beats.audit import record
from beats.models import Fishery, User
from beats.outbound import OUT, Door, NotFetched, NotTaken, check_address, post
from beats.queries import Role, require_role
from beats.shared import outbox, signing
from beats.shared.once import Once, make_once
from beats.shared.refusals import Refusal
from beats.shares import refuse_when_full
from bookings.models import Hook, HookMessage, Let, PaymentKey

GONE = 410
WAITS = [dt.timedelta(seconds=5), dt.timedelta(minutes=5), dt.timedelta(minutes=30)] + [
    dt.timedelta(hours=hours) for hours in (2, 5, 10, 14, 20, 24)
]
"""Over about three days, as the Standard Webhooks text suggests (the figures from memory)."""


class BadAddress(Refusal):
    """Nothing can be sent to this address."""

    code = "bad-address"
    title = "No address for messages"
    status = 400


def add_hook(
    fishery: Fishery, *, url: str, label: str, by: User, now: dt.datetime, once: Once | None = None
) -> tuple[Hook, str | None, bool]:
    """Where to tell of lets from now on. Returns (hook, secret, new?); the secret is shown this once.

    Raises BadAddress, NotYours, KeyReused.
    """
    require_role(by, fishery, Role.OWNER)
    try:
        check_address(url)
    except NotFetched as fault:
        raise BadAddress(str(fault), errors={"url": [str(fault)]}) from None
    return _with_secret(Hook, "add hook", fishery, {"url": url, "label": label}, by=by, now=now, once=once)


def add_payment_key(
    fishery: Fishery, *, label: str, by: User, now: dt.datetime, once: Once | None = None
) -> tuple[PaymentKey, str | None, bool]:
    """A secret for a program that reports payments. Returns as `add_hook` does."""
    require_role(by, fishery, Role.OWNER)
    return _with_secret(PaymentKey, "add payment key", fishery, {"label": label}, by=by, now=now, once=once)


@transaction.atomic
def revoke(row: Hook | PaymentKey, *, by: User, now: dt.datetime) -> None:
    """Nothing is sent to it, or taken from it, from now on. Once more changes nothing."""
    require_role(by, row.fishery, Role.OWNER)
    model = type(row)
    if model.objects.filter(pk=row.pk, revoked_at__isnull=True).update(revoked_at=now):
        verb = "revoke hook" if model is Hook else "revoke payment key"
        record(verb, row, by=by, now=now, fishery=row.fishery, before={"label": row.label})


def write_messages(let: Let, event: str, *, now: dt.datetime) -> None:
    """A message for every hook of the fishery; in the transaction of the deed."""
    body = json.dumps({"type": str(event), "timestamp": now.isoformat(), "data": _facts(let)}, sort_keys=True)
    HookMessage.objects.bulk_create(
        HookMessage(hook=hook, event=event, body=body, written_at=now, next_try_at=now)
        for hook in Hook.objects.filter(fishery=let.beat.fishery, revoked_at__isnull=True)
    )


def send_messages(*, clock: Callable[[], dt.datetime], door: Door = OUT) -> outbox.Round:
    """Send every message that is due. Idempotent; any number may run at once."""
    return outbox.send_due(HookMessage, lambda row: _send(row, clock, door), waits=WAITS, clock=clock, at_once=1)


def _send(message: HookMessage, clock: Callable[[], dt.datetime], door: Door) -> None:
    hook = Hook.objects.get(pk=message.hook_id)
    if hook.revoked_at:
        raise outbox.GiveUp("The hook was revoked.")
    message_id, at_s, body = f"msg_{message.pk.hex}", int(clock().timestamp()), message.body.encode()
    headers = {
        "webhook-id": message_id,
        "webhook-timestamp": str(at_s),
        "webhook-signature": signing.sign(hook.secret, message_id=message_id, at_s=at_s, body=body),
    }
    try:
        post(hook.url, body=body, headers=headers, door=door)
    except NotTaken as fault:
        if fault.status == GONE:  # the standard's way to say: send nothing here any more
            Hook.objects.filter(pk=hook.pk, revoked_at__isnull=True).update(revoked_at=clock())
            raise outbox.GiveUp(str(fault)) from None
        raise


def _facts(let: Let) -> dict[str, Any]:
    days = sorted({str(day) for day in let.rod_days.values_list("day", flat=True)})
    return {
        "let": let.pk,
        "edition": let.edition,
        "status": str(let.status),
        "fishery": let.beat.fishery.slug,
        "beat": let.beat.slug,
        "booker": let.booker_id,
        "first_on": str(let.first_on),
        "last_on": str(let.last_on),
        "rods": let.rods,
        "days": days,
    }


def _with_secret(
    model: type,
    verb: str,
    fishery: Fishery,
    facts: dict[str, Any],
    *,
    by: User,
    now: dt.datetime,
    once: Once | None,
) -> tuple[Any, str | None, bool]:
    secret = signing.new_secret()

    def make(columns: dict[str, Any]) -> Any:
        kept = model.objects.filter(fishery=fishery, revoked_at=None)
        refuse_when_full("hooks" if model is Hook else "keys", kept)
        row = model.objects.create(fishery=fishery, secret=secret, created_at=now, **facts, **columns)
        record(verb, row, by=by, now=now, fishery=fishery, after={"label": facts["label"]})
        return row

    row, made = make_once(model, by=by, once=once, make=make)
    return row, secret if made else None, made
