"""One message: sent outside any transaction, and what became of it noted if the lease is still ours."""

import datetime as dt
import logging
from collections.abc import Callable

from beats.outbound import NotTaken
from safety.channels import CHANNELS
from safety.faults import Kind, is_final, kind_of
from safety.models import Delivery
from safety.services.points import crash_point
from safety.services.pushes import forget_push_address
from safety.services.queueing import LONGEST_WAIT, PUSH

log = logging.getLogger("rodtally.watch")
TRIES = 12
ADDRESS_TRIES = 3
"""An address that the server refuses for good is soon a task for a keeper."""
FIRST_WAIT = dt.timedelta(seconds=5)
GONE = (404, 410)
"""What a push service answers for an address it no longer knows: RFC 8030, 7.3."""
State = Delivery.State


def send_taken(delivery: Delivery, *, clock: Callable[[], dt.datetime]) -> str | None:
    """Send a message that was taken and note the outcome. None when its channel accepted it, else the fault."""
    crash_point("before send")
    fault = _send(delivery)
    crash_point("after send")
    note_outcome(delivery, fault=fault, now=clock())
    crash_point("after note")
    return fault


def note_outcome(
    delivery: Delivery, *, fault: str | None, now: dt.datetime, provider_id: str | None = None
) -> bool:
    """Note what became of a sending, if its lease is still ours. False when it is not."""
    if fault is None:
        outcome = {"state": State.SENT, "sent_at": now, "last_fault": "", "fault_kind": ""}
        outcome["provider_id"] = provider_id or getattr(delivery, "taken_as", None) or ""
    else:
        kind = getattr(delivery, "failed_as", Kind.SERVER)
        tries = ADDRESS_TRIES if kind == Kind.ADDRESS else TRIES
        over = delivery.attempts >= tries or getattr(delivery, "hopeless", False)
        outcome = {"last_fault": fault[:300], "fault_kind": kind, "failed_at": now}
        outcome |= (
            {"state": State.GIVEN_UP}
            if over
            else {"state": State.WAITING, "next_try_at": now + wait_after(delivery.attempts)}
        )
    mine = Delivery.objects.filter(pk=delivery.pk, lease=delivery.lease, state=State.SENDING)
    noted = mine.update(**outcome) == 1
    if delivery.channel == PUSH and getattr(delivery, "gone", False):
        forget_push_address(delivery.recipient, now=now)
    if noted and outcome["state"] == State.GIVEN_UP and delivery.channel != PUSH:
        hurry_next(delivery, now=now)
    return noted


def hurry_next(delivery: Delivery, *, now: dt.datetime) -> None:
    """A channel has failed for good: whatever waited for its receipt goes now."""
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
    except Exception as error:
        delivery.failed_as = kind_of(error)
        delivery.hopeless = is_final(error)
        delivery.gone = isinstance(error, NotTaken) and error.status in GONE
        if isinstance(error, NotTaken) or delivery.failed_as != Kind.SERVER:
            log.warning("delivery %s by %s was not taken: %s: %s", delivery.pk, delivery.channel,
                        type(error).__name__, error, extra=about)  # fmt: skip
        else:
            log.exception("delivery %s by %s failed", delivery.pk, delivery.channel, extra=about)
        return f"{type(error).__name__}: {error}"
    return None
