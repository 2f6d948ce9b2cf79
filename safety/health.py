"""Is the watch itself well? Written apart from the sweep and the senders: it counts what should be there.

Faults are those of the watch: no sweep, no sender, an overdue angler without an alarm, a channel by which
nothing leaves. One message that cannot be delivered is none of them: it is a task for a keeper
(`safety.services.undelivered`), and a figure.
"""

import datetime as dt
from collections import defaultdict
from dataclasses import dataclass

from django.db import connection
from django.db.models import Count, Max, Q, QuerySet

from beats.shared import words
from beats.shared.phrases import say
from safety.models import Delivery, Pulse
from safety.priority import URGENT

SWEEP_STALE_AFTER = dt.timedelta(seconds=60)
SENDERS_STALE_AFTER = dt.timedelta(seconds=60)
ALARM_LATE_AFTER = dt.timedelta(seconds=60)
URGENT_WAITS_AT_MOST = dt.timedelta(minutes=2)
DELIVERY_STUCK_AFTER = dt.timedelta(minutes=5)
REFUSALS_WITHIN = dt.timedelta(hours=1)
SEVERAL_SERVER_ERRORS, SEVERAL_REFUSALS = 2, 3
"""So many different addresses must fail, with none accepted since, before the channel and not the address is at
fault. Common practice, no source."""
State = Delivery.State
Channel = Delivery.Channel
GONE = (State.SENT, State.DELIVERED, State.NOT_NEEDED, State.FAILED)
TO_PEOPLE = (Channel.EMAIL, Channel.TEXT, Channel.VOICE)
"""A push is an extra copy and the log is nobody."""
CHANNEL_NAMES = {Channel.EMAIL: say("e-mail"), Channel.TEXT: say("text"), Channel.VOICE: say("telephone call")}


@dataclass(frozen=True)
class WatchHealth:
    """What is wrong with the watch, in words; empty when nothing is known to be.

    `undelivered` counts the messages that did not arrive and that no keeper has dealt with.
    """

    faults: tuple[str, ...]
    swept_at: dt.datetime | None
    undelivered: int = 0


NEVER_SWEPT = say("The watch has not swept yet. Nobody is being watched: ring round, and restart it.")


def sweep_fault(*, now: dt.datetime, name: str = "sweep") -> tuple[str, dt.datetime | None]:
    """(what is wrong with the sweep, when it last ran). One query."""
    pulse = Pulse.objects.filter(name=name).first()
    if pulse is None or now - pulse.beaten_at > SWEEP_STALE_AFTER:
        if pulse is None:
            return NEVER_SWEPT, None
        return say(
            "The watch has not swept since {at} UTC. Nobody is being watched: ring round, and restart it.",
            at=words.instant(pulse.beaten_at),
        ), pulse.beaten_at  # fmt: skip
    if pulse.beaten_at - now > SWEEP_STALE_AFTER:
        sentence = say(
            "The watch's last sweep is dated {at} UTC, still to come: a clock was changed. "
            "Put the clocks right, and ring round until then.",
            at=words.instant(pulse.beaten_at),
        )
        return sentence, pulse.beaten_at
    return "", pulse.beaten_at


def watch_health(*, now: dt.datetime) -> WatchHealth:
    """What is wrong with the watch itself, and how many messages wait for a keeper. At most eight queries."""
    stale, swept_at = sweep_fault(now=now)
    faults = [stale] if stale else []
    missed = due_without_alarm(now - ALARM_LATE_AFTER)
    if missed:
        faults.append(
            say("{missed} overdue without an alarm. Ring them, and look at the watch's log.", missed=missed)
        )
    faults += sender_faults(now=now)
    faults += channel_faults(now=now)
    return WatchHealth(tuple(faults), swept_at, undelivered(now=now).count())


def sender_faults(*, now: dt.datetime) -> list[str]:
    """Messages that are due and that no sender takes."""
    due = Delivery.objects.filter(state__in=[State.WAITING, State.SENDING], closed_at__isnull=True).exclude(
        channel=Channel.PUSH
    )
    found = due.aggregate(
        urgent=Count("pk", filter=Q(priority__lte=URGENT, next_try_at__lt=now - URGENT_WAITS_AT_MOST)),
        any=Count("pk", filter=Q(next_try_at__lt=now - SENDERS_STALE_AFTER)),
    )
    if found["urgent"]:
        return [_not_left(found["urgent"])]
    if found["any"] and not Pulse.objects.filter(name="deliver", beaten_at__gt=now - SENDERS_STALE_AFTER).exists():
        return [_not_left(found["any"])]
    return []


def _not_left(count: int) -> str:
    one, many = (
        say("{count} message has not left. Tell the keepers by telephone.", count=count),
        say("{count} messages have not left. Tell the keepers by telephone.", count=count),
    )
    return one if count == 1 else many


def channel_faults(*, now: dt.datetime) -> list[str]:
    """Channels by which nothing leaves: the way there, or several addresses, failed and nothing went since.

    It holds until a message is accepted, or a keeper closes what failed, or that no longer matters.
    """
    failing = undelivered(now=now).filter(failed_at__isnull=False, channel__in=TO_PEOPLE)
    rows = list(
        failing.order_by("failed_at").values("channel", "fault_kind", "recipient", "failed_at", "written_at")
    )
    if not rows:
        return []
    accepted = Delivery.objects.filter(channel__in={row["channel"] for row in rows}, sent_at__isnull=False)
    last = dict(accepted.values_list("channel").annotate(last=Max("sent_at")))
    by_channel: dict[str, list[dict]] = defaultdict(list)
    for row in rows:
        if row["channel"] not in last or row["failed_at"] > last[row["channel"]]:
            by_channel[row["channel"]].append(row)
    return [
        _nothing_leaves(channel, last.get(channel) or min(row["written_at"] for row in failed))
        for channel, failed in sorted(by_channel.items())
        if _is_the_channel(failed)
    ]


def _is_the_channel(failed: list[dict]) -> bool:
    newest = max(row["failed_at"] for row in failed)
    addresses: dict[str, set[str]] = defaultdict(set)
    for row in failed:
        if newest - row["failed_at"] <= REFUSALS_WITHIN:
            addresses[row["fault_kind"]].add(row["recipient"])
    all_of_them = set().union(*addresses.values())
    return (
        any(row["fault_kind"] == Delivery.Fault.CHANNEL for row in failed)
        or len(addresses[Delivery.Fault.SERVER]) >= SEVERAL_SERVER_ERRORS
        or len(all_of_them) >= SEVERAL_REFUSALS
    )


def _nothing_leaves(channel: str, since: dt.datetime) -> str:
    return say(
        "Nothing has left by {channel} since {at} UTC. Tell the keepers by another way, and look at its server.",
        channel=CHANNEL_NAMES[channel], at=words.instant(since),
    )  # fmt: skip


def undelivered(*, now: dt.datetime) -> QuerySet[Delivery]:
    """Messages to people that did not arrive and that nobody has dealt with: given up, reported as failed, or
    still being tried five minutes after they were written."""
    trying = Q(
        state__in=[State.WAITING, State.SENDING],
        failed_at__isnull=False,
        written_at__lt=now - DELIVERY_STUCK_AFTER,
    )
    lost = Q(state__in=[State.GIVEN_UP, State.FAILED]) | trying
    return Delivery.objects.exclude(state__in=[State.SENT, State.DELIVERED, State.NOT_NEEDED]).filter(
        lost, closed_at__isnull=True, channel__in=TO_PEOPLE
    )  # fmt: skip


def not_gone() -> QuerySet[Delivery]:
    """Messages still to leave, or given up and not dealt with. A push is an extra copy: that it did not go leaves
    nobody untold."""
    return Delivery.objects.exclude(state__in=GONE).filter(closed_at__isnull=True).exclude(channel=Channel.PUSH)


def due_without_alarm(before: dt.datetime) -> int:
    """Counted in plain SQL, apart from the code it checks."""
    with connection.cursor() as cursor:
        cursor.execute(
            """
            SELECT COUNT(*) FROM fishing_sessions_outing o
            WHERE o.checked_out_at IS NULL AND o.alarm_at < %s AND NOT EXISTS (
                SELECT 1 FROM safety_alarm a
                WHERE a.outing_id = o.id AND a.kind = 'overdue' AND a.deadline_number = o.deadline_number)
            """,
            [connection.ops.adapt_datetimefield_value(before)],
        )
        return cursor.fetchone()[0]
