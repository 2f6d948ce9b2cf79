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
import uuid
from collections.abc import Callable
from dataclasses import dataclass

from django.db.models import Q, QuerySet

from safety.channels import CHANNELS
from safety.models import Delivery
from safety.services.sweep import beat_pulse

log = logging.getLogger("rodtally.watch")
LEASE = dt.timedelta(seconds=60)
TRIES = 12
FIRST_WAIT = dt.timedelta(seconds=5)
LONGEST_WAIT = dt.timedelta(minutes=10)
BATCH = 200


@dataclass(frozen=True)
class Delivered:
    """What one round of sending did."""

    sent: int
    failed: int


def deliver(*, clock: Callable[[], dt.datetime]) -> Delivered:
    """Send everything that is due, one at a time. Idempotent; any number may run at once.

    Takes a clock, not one instant: a mail server may take seconds for each message, and a lease
    must be counted from when it was taken.
    """
    sent = failed = 0
    for pk in list(due_deliveries(clock()).values_list("pk", flat=True)[:BATCH]):
        delivery = take(pk, now=clock())
        if delivery is None:
            continue
        fault = _send(delivery)
        note_outcome(delivery, fault=fault, now=clock())
        sent, failed = (sent + 1, failed) if fault is None else (sent, failed + 1)
    beat_pulse("deliver", now=clock())
    return Delivered(sent, failed)


def due_deliveries(now: dt.datetime) -> QuerySet[Delivery]:
    """Waiting ones whose time has come, and taken ones whose lease has run out."""
    unsent = Q(state__in=[Delivery.State.WAITING, Delivery.State.SENDING])
    return Delivery.objects.filter(unsent, next_try_at__lte=now).order_by("next_try_at", "id")


def take(pk: uuid.UUID, *, now: dt.datetime) -> Delivery | None:
    """Take a delivery for the length of a lease, or None when another sender has it."""
    lease = uuid.uuid4()
    delivery = due_deliveries(now).filter(pk=pk).first()
    if delivery is None:
        return None
    mine = due_deliveries(now).filter(pk=pk, lease=delivery.lease).update(
        state=Delivery.State.SENDING, lease=lease, next_try_at=now + LEASE, attempts=delivery.attempts + 1
    )  # fmt: skip
    return Delivery.objects.get(pk=pk) if mine else None


def note_outcome(delivery: Delivery, *, fault: str | None, now: dt.datetime) -> bool:
    """Note what became of a sending, if its lease is still ours. False when it is not."""
    if fault is None:
        outcome = {"state": Delivery.State.SENT, "sent_at": now, "last_fault": ""}
    elif delivery.attempts >= TRIES:
        outcome = {"state": Delivery.State.GIVEN_UP, "last_fault": fault[:300]}
    else:
        outcome = {"state": Delivery.State.WAITING, "next_try_at": now + wait_after(delivery.attempts),
                   "last_fault": fault[:300]}  # fmt: skip
    mine = Delivery.objects.filter(pk=delivery.pk, lease=delivery.lease, state=Delivery.State.SENDING)
    return mine.update(**outcome) == 1


def wait_after(attempts: int) -> dt.timedelta:
    """How long to wait after the n-th failure: 5 s, doubling, ten minutes at most."""
    return min(FIRST_WAIT * 2 ** min(attempts - 1, 10), LONGEST_WAIT)


def _send(delivery: Delivery) -> str | None:
    """None when the channel took it, else what it said."""
    try:
        CHANNELS[delivery.channel](delivery)
    except Exception as error:
        log.exception("delivery %s by %s failed", delivery.pk, delivery.channel)
        return f"{type(error).__name__}: {error}"
    return None
