"""Writing alarms: rows, messages and audit in the caller's one transaction."""

import datetime as dt
from collections.abc import Callable

from django.db import transaction

from beats.audit import entry, record_all
from beats.shared.pour import pour
from safety import ladder
from safety.models import Alarm, Delivery
from safety.services import writing
from safety.services.people import Crew
from safety.services.points import crash_point

Write = Callable[..., list[Delivery]]


def raise_all(alarms: list[Alarm], crew: Crew, *, now: dt.datetime, write: Write = writing.alarm_messages) -> int:
    """Write new alarms with everything about them, inside a transaction. Returns how many."""
    if not alarms:
        return 0
    for alarm in alarms:
        alarm.next_at = next_at(alarm, crew, now=now)
    crash_point("before alarms")
    Alarm.objects.bulk_create(alarms)
    crash_point("between alarm and messages")
    crew.know_pushes(alarm.outing.guest.user_id for alarm in alarms)
    pour([row for alarm in alarms for row in write(alarm, crew, now=now)])
    _note_unreached(alarms)
    record_all([_noted(alarm, now) for alarm in alarms])
    crash_point("before commit of alarms")
    transaction.on_commit(lambda: crash_point("after commit of alarms"))
    return len(alarms)


def _note_unreached(alarms: list[Alarm]) -> None:
    """One update for each sentence: there are few."""
    by_sentence: dict[str, list[int]] = {}
    for alarm in alarms:
        if alarm.unreached:
            by_sentence.setdefault(alarm.unreached, []).append(alarm.pk)
    for sentence, pks in by_sentence.items():
        Alarm.objects.filter(pk__in=pks).update(unreached=sentence)


def next_at(alarm: Alarm, crew: Crew, *, now: dt.datetime) -> dt.datetime | None:
    """When the watch acts on an alarm again; None when its ladder has no more to say."""
    step = ladder.next_step(
        crew.policy(alarm.outing.beat).ladder, alarm_at=alarm.alarm_at or alarm.due_back_at, stage=alarm.stage,
        turn=alarm.turn, told_at=now,
    )  # fmt: skip
    return step.at if step else None


def _noted(alarm: Alarm, now: dt.datetime):
    facts = {
        "outing": alarm.outing_id, "kind": alarm.kind, "deadline_number": alarm.deadline_number,
        "stage": alarm.stage, "unreached": alarm.unreached,
    }  # fmt: skip
    return entry("raise alarm", alarm, by=None, now=now, fishery=alarm.outing.beat.fishery, after=facts)
