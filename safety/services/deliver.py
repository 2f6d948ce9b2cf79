"""Sending what the sweep wrote: at least once, never inside a transaction.

1. Take one delivery that is due (or whose last sender died) by a conditional update that sets a
   lease; only the sender whose update changed the row has it.
2. Send, outside any transaction.
3. Note the outcome, if the lease is still ours. A failure waits longer each time; after the last try
   the delivery stays on the board as given up.

The one window in which a message goes twice: the sender dies, or outlives its lease, between the
channel taking the message and step 3.
"""

import datetime as dt
import logging
import time
import uuid
from collections.abc import Callable
from dataclasses import dataclass

from django.conf import settings
from django.db.models import Q, QuerySet

from beats.outbound import NotFetched, NotTaken
from safety.channels import CHANNELS
from safety.models import Delivery, PushAddress
from safety.services.budget import spent
from safety.services.points import crash_point
from safety.services.pulse import beat_pulse
from safety.services.pushes import forget_push_address

log = logging.getLogger("rodtally.watch")
LEASE = dt.timedelta(seconds=60)
TRIES = 12
FIRST_WAIT = dt.timedelta(seconds=5)
LONGEST_WAIT = dt.timedelta(minutes=10)
FURTHEST = dt.timedelta(minutes=15)
"""No wait is longer: a row that waits for a later instant was written by a clock since set back."""
BATCH = 200
SLOW_S = 5.0
"""A channel that failed so slowly is left alone for the rest of the round, so that the others go on."""
PUSH_STALE_AFTER = dt.timedelta(hours=1)
"""A push that could not go for so long would only mislead."""
GONE = (404, 410)
"""What a push service answers for an address it no longer knows: RFC 8030, 7.3."""
State = Delivery.State
PUSH = Delivery.Channel.PUSH


@dataclass(frozen=True)
class Delivered:
    """What one round of sending did."""

    sent: int
    failed: int


def deliver(*, clock: Callable[[], dt.datetime], loop: str = "") -> Delivered:
    """Send everything that is due, one at a time. Idempotent; any number may run at once.

    Takes a clock, not one instant: a mail server may take seconds for each message, and a lease
    must be counted from when it was taken.
    """
    sent = failed = 0
    slow: set[str] = set()
    pushing_s = 0.0
    for pk, channel in _this_round(clock()):
        delivery = None if channel in slow else take(pk, now=clock())
        if delivery is None:
            continue
        crash_point("before send")
        started = time.monotonic()
        fault = _send(delivery)
        took_s = time.monotonic() - started
        pushing_s += took_s if channel == PUSH else 0
        if pushing_s > SLOW_S or (fault is not None and took_s > SLOW_S):
            slow.add(channel)
        crash_point("after send")
        note_outcome(delivery, fault=fault, now=clock())
        crash_point("after note")
        sent, failed = (sent + 1, failed) if fault is None else (sent, failed + 1)
    now = clock()
    beat_pulse("deliver", now=now)
    if loop:
        beat_pulse(loop, now=now)
    return Delivered(sent, failed)


def _this_round(now: dt.datetime) -> list[tuple[uuid.UUID, str]]:
    """What to try, pushes last: an extra copy holds up no message that may be the only one."""
    due = due_deliveries(now).values_list("pk", "channel")
    extras = due.filter(channel=PUSH)[:BATCH] if settings.WEB_PUSH_KEY else ()
    return [*due.exclude(channel=PUSH)[:BATCH], *extras]


def due_deliveries(now: dt.datetime) -> QuerySet[Delivery]:
    """Waiting ones whose time has come, and taken ones whose lease has run out."""
    unsent = Q(state__in=[State.WAITING, State.SENDING])
    due = Q(next_try_at__lte=now) | Q(next_try_at__gt=now + FURTHEST)
    return Delivery.objects.filter(unsent & due).order_by("next_try_at", "id")


def take(pk: uuid.UUID, *, now: dt.datetime) -> Delivery | None:
    """Take a delivery for the length of a lease, or None when another sender has it or it need not go."""
    lease = uuid.uuid4()
    delivery = due_deliveries(now).filter(pk=pk).first()
    if delivery is None:
        return None
    if delivery.state == State.WAITING and (held := _held_back(delivery, now)):
        due_deliveries(now).filter(pk=pk, lease=delivery.lease, state=State.WAITING).update(**held)
        return None
    mine = due_deliveries(now).filter(pk=pk, lease=delivery.lease).update(
        state=State.SENDING, lease=lease, next_try_at=now + LEASE, attempts=delivery.attempts + 1
    )  # fmt: skip
    return Delivery.objects.select_related("alarm").get(pk=pk) if mine else None


def _held_back(delivery: Delivery, now: dt.datetime) -> dict:
    """What becomes of a message that need not go, or may not yet: a call after a receipt, a text over budget."""
    stale = delivery.written_at < now - PUSH_STALE_AFTER
    if delivery.channel == PUSH and (stale or PushAddress.of(delivery.recipient) is None):
        return {"state": State.NOT_NEEDED}
    if delivery.rank and _arrived(delivery):
        return {"state": State.NOT_NEEDED}
    if delivery.channel in (Delivery.Channel.TEXT, Delivery.Channel.VOICE) and (why := spent(delivery, now=now)):
        return {"next_try_at": now + LONGEST_WAIT, "last_fault": why}
    return {}


def _arrived(delivery: Delivery) -> bool:
    """Whether the same word has reached the same person by another way, as a receipt says."""
    return Delivery.objects.filter(
        alarm=delivery.alarm_id, outing=delivery.outing_id, recall=delivery.recall_id, about=delivery.about,
        turn=delivery.turn, person=delivery.person, rank__lt=delivery.rank, state=State.DELIVERED,
    ).exclude(channel=PUSH).exists()  # fmt: skip


def note_outcome(
    delivery: Delivery, *, fault: str | None, now: dt.datetime, provider_id: str | None = None
) -> bool:
    """Note what became of a sending, if its lease is still ours. False when it is not."""
    if fault is None:
        outcome = {"state": State.SENT, "sent_at": now, "last_fault": ""}
        outcome["provider_id"] = provider_id or getattr(delivery, "taken_as", None) or ""
    elif delivery.attempts >= TRIES or getattr(delivery, "hopeless", False):
        outcome = {"state": State.GIVEN_UP, "last_fault": fault[:300]}
    else:
        outcome = {"state": State.WAITING, "next_try_at": now + wait_after(delivery.attempts),
                   "last_fault": fault[:300]}  # fmt: skip
    mine = Delivery.objects.filter(pk=delivery.pk, lease=delivery.lease, state=State.SENDING)
    noted = mine.update(**outcome) == 1
    if delivery.channel == PUSH and getattr(delivery, "gone", False):
        forget_push_address(delivery.recipient, now=now)
    if noted and outcome["state"] == State.GIVEN_UP and delivery.channel != PUSH:
        hurry_next(delivery, now=now)
    return noted


def hurry_next(delivery: Delivery, *, now: dt.datetime) -> None:
    """A way has failed for good: whatever waited for its receipt goes now."""
    Delivery.objects.filter(
        alarm=delivery.alarm_id, outing=delivery.outing_id, recall=delivery.recall_id, about=delivery.about,
        turn=delivery.turn, person=delivery.person, rank__gt=delivery.rank, state=State.WAITING,
        next_try_at__gt=now,
    ).update(next_try_at=now)  # fmt: skip


def wait_after(attempts: int) -> dt.timedelta:
    """How long to wait after the n-th failure: 5 s, doubling, ten minutes at most."""
    return min(FIRST_WAIT * 2 ** min(attempts - 1, 10), LONGEST_WAIT)


def _send(delivery: Delivery) -> str | None:
    """None when the channel took it, else what it said."""
    about = {"outing_id": delivery.about_outing}
    try:
        delivery.taken_as = CHANNELS[delivery.channel](delivery)
    except NotFetched as error:
        log.warning("delivery %s by %s was not taken: %s", delivery.pk, delivery.channel, error, extra=about)
        delivery.hopeless = isinstance(error, NotTaken) and _for_good(error.status)
        delivery.gone = isinstance(error, NotTaken) and error.status in GONE
        return f"{type(error).__name__}: {error}"
    except Exception as error:
        log.exception("delivery %s by %s failed", delivery.pk, delivery.channel, extra=about)
        return f"{type(error).__name__}: {error}"
    return None


def _for_good(status: int) -> bool:
    """Whether the message will never be taken as it is; the others may be mended, or pass."""
    return 400 <= status < 500 and status not in (401, 403, 408, 409, 425, 429)
