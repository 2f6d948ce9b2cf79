"""The outbox as a queue: what is due, in which order it leaves, and who has taken it.

Classes leave in the order of `safety.priority`; within a class the fisheries take turns, so that one with a
thousand messages delays another's by one message and not by a thousand.
"""

import datetime as dt
import uuid
from collections.abc import Iterable
from typing import NamedTuple

from django.db.models import Exists, F, OuterRef, Q, QuerySet, Window
from django.db.models.functions import RowNumber

from safety.models import Delivery, PushAddress
from safety.services.budget import spent

LEASE = dt.timedelta(seconds=60)
LONGEST_WAIT = dt.timedelta(minutes=10)
FURTHEST = dt.timedelta(minutes=15)
"""No wait is longer: a row that waits for a later instant was written by a clock since set back."""
PUSH_STALE_AFTER = dt.timedelta(hours=1)
"""A push that could not go for so long would only mislead."""
ACCEPTED_WITHIN = dt.timedelta(seconds=30)
"""So long a channel may take to accept a message before the person's next channel is used as well."""
State = Delivery.State
PUSH = Delivery.Channel.PUSH


def due_deliveries(now: dt.datetime) -> QuerySet[Delivery]:
    """Waiting ones whose time has come, and taken ones whose lease has run out."""
    unsent = Q(state__in=[State.WAITING, State.SENDING])
    due = Q(next_try_at__lte=now) | Q(next_try_at__gt=now + FURTHEST)
    return Delivery.objects.filter(unsent & due, closed_at__isnull=True).order_by("next_try_at", "id")


def in_order(due: QuerySet[Delivery]) -> QuerySet[Delivery]:
    """The order in which messages leave. `place` counts a fishery's own messages of one class, from 1."""
    place = Window(
        RowNumber(), partition_by=[F("priority"), F("fishery")], order_by=[F("next_try_at").asc(), F("id").asc()]
    )
    return due.annotate(place=place).order_by("priority", "place", "next_try_at", "id")


class Head(NamedTuple):
    """A message near the head of the queue; `place` counts within its class and fishery, from 1."""

    pk: uuid.UUID
    priority: int
    place: int
    fishery: int | None


def heads(now: dt.datetime, channel: str, *, most: int, lowest_class: int | None = None) -> list[Head]:
    """The first `most` messages due by a channel, in order. One query."""
    due = due_deliveries(now).filter(channel=channel)
    if lowest_class is not None:
        due = due.filter(priority__lte=lowest_class)
    return [Head(*row) for row in in_order(due).values_list("pk", "priority", "place", "fishery_id")[:most]]


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


def extend_leases(taken: Iterable[Delivery], *, now: dt.datetime) -> None:
    """Keep messages that are still being sent: a slow server is no reason to send them a second time."""
    leases = [delivery.lease for delivery in taken]
    if leases:
        Delivery.objects.filter(lease__in=leases, state=State.SENDING).update(next_try_at=now + LEASE)


def use_next_channel(*, now: dt.datetime) -> int:
    """Release what waits for a receipt when no earlier message to the person was even accepted in time.

    Returns how many were released. Two statements, however many wait.
    """
    waiting = Delivery.objects.filter(
        state=State.WAITING, rank__gt=0, next_try_at__gt=now, written_at__lte=now - ACCEPTED_WITHIN,
        attempts=0, last_fault="",
    )  # fmt: skip
    same = Delivery.objects.filter(
        about=OuterRef("about"), turn=OuterRef("turn"), person=OuterRef("person"), rank__lt=OuterRef("rank"),
        state__in=[State.SENT, State.DELIVERED],
    ).exclude(channel=PUSH)  # fmt: skip
    of_alarm = waiting.filter(~Exists(same.filter(alarm=OuterRef("alarm"))), alarm__isnull=False)
    of_outing = waiting.filter(
        ~Exists(same.filter(outing=OuterRef("outing"), alarm__isnull=True)),
        alarm__isnull=True,
        outing__isnull=False,
    )
    return of_alarm.update(next_try_at=now) + of_outing.update(next_try_at=now)


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
    """Whether the same message has reached the same person by another channel, as a receipt says."""
    return Delivery.objects.filter(
        alarm=delivery.alarm_id, outing=delivery.outing_id, recall=delivery.recall_id, about=delivery.about,
        turn=delivery.turn, person=delivery.person, rank__lt=delivery.rank, state=State.DELIVERED,
    ).exclude(channel=PUSH).exists()  # fmt: skip
