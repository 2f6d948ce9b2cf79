"""Sending what the sweep wrote: at least once, never inside a transaction.

1. Take one delivery that is due (or whose last sender died) by a conditional update that sets a
   lease; only the sender whose update changed the row has it.
2. Send, outside any transaction.
3. Note the outcome, if the lease is still ours. A failure waits longer each time; after the last try
   the delivery is given up and becomes a task for a keeper (`undelivered`).

The one window in which a message goes twice: the sender dies, or outlives its lease, between the
channel taking the message and step 3.

`deliver` is one round in one thread, for `watch --once` and the suite. The service sends by `SenderPool`
(`sender_pool`), with threads for each channel and the same steps.
"""

import datetime as dt
import time
import uuid
from collections.abc import Callable
from dataclasses import dataclass

from django.conf import settings

from safety.services.pulse import beat_pulse
from safety.services.queueing import LEASE, PUSH, due_deliveries, in_order, take, use_next_channel
from safety.services.sending import hurry_next, note_outcome, send_taken, wait_after

__all__ = ["LEASE", "Delivered", "deliver", "due_deliveries", "hurry_next", "note_outcome", "take", "wait_after"]
BATCH = 200
SLOW_S = 5.0
"""A channel that failed so slowly is left alone for the rest of the round, so that the others go on."""


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
        started = time.monotonic()
        fault = send_taken(delivery, clock=clock)
        took_s = time.monotonic() - started
        pushing_s += took_s if channel == PUSH else 0
        if pushing_s > SLOW_S or (fault is not None and took_s > SLOW_S):
            slow.add(channel)
        sent, failed = (sent + 1, failed) if fault is None else (sent, failed + 1)
    now = clock()
    beat_pulse("deliver", now=now)
    if loop:
        beat_pulse(loop, now=now)
    return Delivered(sent, failed)


def _this_round(now: dt.datetime) -> list[tuple[uuid.UUID, str]]:
    """What to try, pushes last: an extra copy holds up no message that may be the only one."""
    use_next_channel(now=now)
    due = due_deliveries(now)
    extras = (
        in_order(due.filter(channel=PUSH)).values_list("pk", "channel")[:BATCH] if settings.WEB_PUSH_KEY else ()
    )
    return [*in_order(due.exclude(channel=PUSH)).values_list("pk", "channel")[:BATCH], *extras]
