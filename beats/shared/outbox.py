"""An outbox: rows written with the deed they tell of, and sent later, at least once.

1. Take one row that is due (or whose last sender died) by a conditional update that sets a lease; only
   the sender whose update changed the row has it.
2. Send, outside any transaction.
3. Note the outcome, if the lease is still ours. A failure waits longer each time; after the last try
   the row is given up, and says so.

The one window in which a message goes twice: the sender dies, or outlives its lease, between the other
side taking the message and step 3.
"""

import datetime as dt
import logging
import time
import uuid
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from django.db import models
from django.db.models import Q, QuerySet

log = logging.getLogger("rodtally.outbox")
LEASE = dt.timedelta(minutes=2)
BATCH = 200
ROUND_S = 45.0
"""A round starts no sending after so long, so that a slow server cannot keep a worker past its time limit."""


class Outgoing(models.Model):
    """The columns of a row to be sent."""

    class State(models.TextChoices):
        WAITING = "waiting"
        SENDING = "sending"
        SENT = "sent"
        GIVEN_UP = "given_up"
        NOT_NEEDED = "not_needed"

    state = models.CharField(max_length=10, choices=State, default=State.WAITING)
    written_at = models.DateTimeField()
    next_try_at = models.DateTimeField()
    lease = models.UUIDField(null=True, editable=False)
    attempts = models.PositiveSmallIntegerField(default=0)
    sent_at = models.DateTimeField(null=True)
    last_fault = models.CharField(max_length=300, blank=True)

    class Meta:
        abstract = True
        indexes = [
            models.Index(
                fields=["next_try_at"],
                condition=Q(state__in=["waiting", "sending"]),
                name="%(app_label)s_%(class)s_to_send",
            )
        ]


class GiveUp(Exception):
    """Raised by a sender when trying again can bring nothing; the message says why."""


@dataclass(frozen=True)
class Round:
    """What one round of sending did."""

    sent: int
    failed: int


def due(model: type[Outgoing], now: dt.datetime) -> QuerySet:
    """Waiting rows whose time has come, and taken ones whose lease has run out."""
    unsent = Q(state__in=[Outgoing.State.WAITING, Outgoing.State.SENDING])
    return model.objects.filter(unsent, next_try_at__lte=now).order_by("next_try_at", "pk")


def send_due(
    model: type[Outgoing],
    send: Callable[[Outgoing], None],
    *,
    waits: Sequence[dt.timedelta],
    clock: Callable[[], dt.datetime],
    at_once: int | None = None,
) -> Round:
    """Send everything that is due, one at a time; after the n-th failure wait `waits[n-1]`. Idempotent.

    `send` raises when it did not come off. Takes a clock, since a lease is counted from when it is taken. With
    `at_once`, a round begins only while fewer senders are at work, so that a slow server fills no pool of workers.
    """
    sent = failed = 0
    if at_once is not None and _at_work(model, clock()) >= at_once:
        return Round(0, 0)
    ends = time.monotonic() + ROUND_S
    for pk in list(due(model, clock()).values_list("pk", flat=True)[:BATCH]):
        if time.monotonic() > ends:
            break
        row = take(model, pk, now=clock())
        if row is None:
            continue
        fault, final = _try(row, send)
        note(row, fault=fault, final=final, waits=waits, now=clock())
        sent, failed = (sent + 1, failed) if fault is None else (sent, failed + 1)
    return Round(sent, failed)


def _at_work(model: type[Outgoing], now: dt.datetime) -> int:
    """How many senders hold a lease."""
    return model.objects.filter(state=Outgoing.State.SENDING, next_try_at__gt=now).count()


def take(model: type[Outgoing], pk, *, now: dt.datetime) -> Outgoing | None:
    """Take a row for the length of a lease, or None when another sender has it."""
    row = due(model, now).filter(pk=pk).first()
    if row is None:
        return None
    mine = due(model, now).filter(pk=pk, lease=row.lease).update(
        state=Outgoing.State.SENDING, lease=uuid.uuid4(), next_try_at=now + LEASE, attempts=row.attempts + 1
    )  # fmt: skip
    return model.objects.get(pk=pk) if mine else None


def note(
    row: Outgoing, *, fault: str | None, final: bool, waits: Sequence[dt.timedelta], now: dt.datetime
) -> bool:
    """Note what became of a sending, if its lease is still ours. False when it is not."""
    if fault is None:
        outcome = {"state": Outgoing.State.SENT, "sent_at": now, "last_fault": ""}
    elif final or row.attempts > len(waits):
        outcome = {"state": Outgoing.State.GIVEN_UP, "last_fault": fault[:300]}
    else:
        wait = waits[row.attempts - 1]
        outcome = {"state": Outgoing.State.WAITING, "next_try_at": now + wait, "last_fault": fault[:300]}
    mine = type(row).objects.filter(pk=row.pk, lease=row.lease, state=Outgoing.State.SENDING)
    return mine.update(**outcome) == 1


def _try(row: Outgoing, send: Callable[[Outgoing], None]) -> tuple[str | None, bool]:
    try:
        send(row)
    except GiveUp as error:
        return str(error), True
    except Exception as error:  # noqa: BLE001 - whatever it was, the row is tried again and says why
        log.warning("%s %s was not sent: %s", type(row).__name__, row.pk, type(error).__name__)
        return f"{type(error).__name__}: {error}", False
    return None, False
