"""After an undone check-out: alarms the check-out had cleared are raised again, and the all-clear is withdrawn.

The deadlines of the outing stay as they were. What changes are the numbers that say "this one is noted", so that
the next sweep raises a missed time, contact or recall again; a call for help is raised here, at once.
"""

import datetime as dt
from collections.abc import Iterable

from beats.shared.rows import locked_in_order
from safety import wording
from safety.models import Alarm, Delivery, RecallCall
from safety.priority import priority_of
from safety.services import writing
from safety.services.answering import ask_for_help
from sessions.guards import resumer
from sessions.models import Outing

Kind = Alarm.Kind
SWEEP_SKEW = dt.timedelta(minutes=2)
"""A sweep stamps what it clears with the instant it began, which may lie before the check-out."""


@resumer
def resume_alarms(outing: Outing, *, ended_at: dt.datetime, now: dt.datetime) -> None:
    """Inside the undo's transaction. Holds the alarms, so that none is being cleared at the same time."""
    alarms = locked_in_order(Alarm.objects.filter(outing=outing))
    cleared = [each for each in alarms if each.cleared_at and each.cleared_at > ended_at - SWEEP_SKEW]
    newest: dict[tuple, Alarm] = {}
    for alarm in cleared:
        occasion = (alarm.kind, alarm.deadline_number, alarm.occasion)
        if _stands(alarm, outing) and (occasion not in newest or newest[occasion].stage < alarm.stage):
            newest[occasion] = alarm
    for alarm in newest.values():
        alarm.outing = outing
        _withdraw_all_clear(alarm, now=now)
    for kind in {alarm.kind for alarm in newest.values()}:
        _raise_again(kind, outing, newest.values(), now=now)


def _stands(alarm: Alarm, outing: Outing) -> bool:
    """Whether nothing but the check-out ended it: a new return time or a word since did not."""
    if alarm.kind == Kind.OVERDUE:
        return alarm.deadline_number == outing.deadline_number
    if alarm.kind == Kind.CONTACT:
        return alarm.occasion == outing.contact_number
    return True


def _withdraw_all_clear(alarm: Alarm, *, now: dt.datetime) -> None:
    """Those who may have had the all-clear are told; one that has not left yet does not leave."""
    about = Delivery.objects.filter(
        alarm__outing=alarm.outing_id, alarm__kind=alarm.kind, alarm__deadline_number=alarm.deadline_number,
        alarm__occasion=alarm.occasion, about=Delivery.About.ALL_CLEAR,
    )  # fmt: skip
    about.filter(state=Delivery.State.WAITING, attempts=0).update(state=Delivery.State.NOT_NEEDED)
    words = wording.on_the_water_again(writing.missing_of(alarm), undone_at=now)
    rows = about.exclude(state=Delivery.State.NOT_NEEDED).values_list("channel", "recipient", "person")
    Delivery.objects.bulk_create(
        Delivery(
            alarm=alarm, fishery_id=alarm.outing.beat.fishery_id, priority=priority_of(Delivery.About.RESUMED),
            about=Delivery.About.RESUMED, channel=channel, recipient=recipient, person=person,
            subject=words.subject[:200], body=words.body, written_at=now, next_try_at=now,
        )
        for channel, recipient, person in rows.order_by("channel", "recipient").distinct()
    )  # fmt: skip


def _raise_again(kind: str, outing: Outing, alarms: Iterable[Alarm], *, now: dt.datetime) -> None:
    if kind == Kind.OVERDUE:
        outing.deadline_number += 1
        outing.save(update_fields=["deadline_number"])
    elif kind == Kind.CONTACT:
        outing.contact_number += 1
        outing.save(update_fields=["contact_number"])
    elif kind == Kind.HELP:
        ask_for_help(outing, by=None, now=now)
    elif kind == Kind.RECALL:
        calls = RecallCall.objects.filter(pk__in=[each.occasion for each in alarms if each.kind == Kind.RECALL])
        for call in calls.filter(recall__ended_at__isnull=True):
            call.number += 1
            call.save(update_fields=["number"])
