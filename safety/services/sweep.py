"""The sweep: who is past the time, and is it noted? Asked of the database, again and again.

1. Plans whose time has come begin, unless they were called off.
2. Open outings past `alarm_at` without an alarm for this deadline get one, with every message about
   it, in one commit; so do missed contacts, and recalls that nobody answered.
3. Alarms whose next stage (or repeat, or promise) was due when the sweep began climb, one stage a sweep.
4. Anglers who are nearly due are reminded; rods under a recall are called.
5. Alarms whose angler is back, or has been heard from, are cleared.
6. It notes its pulse.

First stages come first: nothing else that is due delays them. A loop gives the rest `room_s` seconds in one sweep,
each kind of it, and the next sweep goes on from there; no sweep waits for a message.

Run by the scheduler, by `manage.py watch`, by a request that finds it stale, or by all at once: rows
are claimed (PostgreSQL: SKIP LOCKED; SQLite: the one write lock of IMMEDIATE), a second run finds
nothing to do, and unique constraints stand behind that. There is no look-back limit: after any outage
the first sweep raises all that is due. A row that fails is logged and the others go on.
"""

import datetime as dt
import logging
import time
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from django.db import DatabaseError, transaction
from django.db.models import QuerySet

from beats.audit import record
from beats.shared.rows import locked, locked_unless_busy, several_unless_busy
from safety import ladder, wording
from safety.models import Alarm, Delivery
from safety.services import writing
from safety.services.calling import call_rod, missed_calls, raise_unanswered, uncalled
from safety.services.drills import raise_drill
from safety.services.due import (
    FIRST_STAGE,
    due_alarms,
    due_outings,
    may_be_due,
    missed_contacts,
    over_alarms,
    to_remind,
    waiting_drills,
)
from safety.services.people import Crew
from safety.services.points import crash_point
from safety.services.pulse import beat_pulse
from safety.services.raising import next_at, raise_all
from safety.services.reminding import remind
from sessions.models import Outing
from sessions.services.plans import begin, plans_to_begin

log = logging.getLogger("rodtally.watch")
ASKED_FIRST = dt.timedelta(minutes=10)
"""Between asking the angler about a missed contact and telling others. Common practice, no source."""
BATCH = 250
Kind = Alarm.Kind
RELATED = ("guest", "beat__fishery", "pool")


@dataclass(frozen=True)
class Swept:
    """What one sweep did."""

    raised: int
    cleared: int
    failed: int


def sweep(*, now: dt.datetime, pulse: str = "sweep", loop: str = "", room_s: float | None = None) -> Swept:
    """Do everything that is due at `now`. Idempotent. `loop` names the process that asks, for its own pulse.

    `room_s`: seconds for each kind of what is no first stage; None, all of it.
    """
    if not may_be_due(now):
        beat_pulse(pulse, *([loop] if loop else []), now=now)
        return Swept(0, 0, 0)
    _, begun = _each(plans_to_begin(now), lambda pk: begin(pk, now=now))
    climbing = list(due_alarms(now).values_list("pk", flat=True))  # one raised below climbs in a later sweep
    raising = (
        _in_batches(due_outings(now), now),
        _each(missed_contacts(now), lambda pk: raise_contact(pk, now=now)),
        _each(missed_calls(now), lambda pk: raise_unanswered(pk, now=now)),
        _each(climbing, lambda pk: climb(pk, now=now), room_s),
    )
    others = (
        _each(uncalled(now), lambda pk: call_rod(pk, now=now), room_s),
        _each(to_remind(now), lambda pk: remind(pk, now=now), room_s),
        _each(waiting_drills(now), lambda pk: raise_drill(pk, now=now), room_s),
    )
    cleared, stuck = _each(over_alarms(now), lambda pk: clear_alarm(pk, now=now), room_s)
    raised = sum(done for done, _ in raising)
    faults = begun + stuck + sum(bad for _, bad in (*raising, *others))
    if not faults:
        beat_pulse(pulse, *([loop] if loop else []), now=now)
    return Swept(raised, cleared, faults)


# --- Raising -----------------------------------------------------------------------------------


def raise_alarm(outing_id: int, *, now: dt.datetime) -> bool:
    """One alarm and its messages, in one commit. False when another was quicker or there is no need."""
    return _raise_batch([outing_id], now) == 1


@transaction.atomic
def _raise_batch(outing_ids: Sequence[int], now: dt.datetime, crew: Crew | None = None) -> int:
    """The first stage for many outings, in one commit; those held or done by another are left to it."""
    # Many are out on few beats: each beat is read once, not once for every outing on it.
    related = due_outings(now).select_related("guest", "pool").prefetch_related("beat__fishery")
    held = several_unless_busy(related, pk__in=outing_ids)
    # Asked again now that the rows are held: what another sweep wrote before us is seen.
    noted = set(
        Alarm.objects.filter(outing__in=held, kind=Kind.OVERDUE, stage=FIRST_STAGE).values_list(
            "outing_id", "deadline_number"
        )
    )
    missing = [outing for outing in held if (outing.pk, outing.deadline_number) not in noted]
    alarms = [
        Alarm(
            outing=outing, deadline_number=outing.deadline_number, stage=FIRST_STAGE,
            due_back_at=outing.due_back_at,
            alarm_at=outing.alarm_at, raised_at=now,
        )
        for outing in missing
    ]  # fmt: skip
    return raise_all(alarms, crew or Crew(now), now=now, write=_write)


def _write(alarm: Alarm, crew: Crew, *, now: dt.datetime) -> list[Delivery]:
    return writing.alarm_messages(alarm, crew, now=now)


@transaction.atomic
def raise_contact(outing_id: int, *, now: dt.datetime) -> bool:
    """A missed contact: stage 0, the angler alone is asked. The ladder begins ten minutes later."""
    outing = locked_unless_busy(
        Outing.objects.select_related(*RELATED), pk=outing_id, checked_out_at__isnull=True, contact_due_at__lte=now
    )
    if outing is None or not missed_contacts(now).filter(pk=outing_id).exists():
        return False
    alarm = Alarm(
        outing=outing, kind=Kind.CONTACT, deadline_number=0, occasion=outing.contact_number, stage=0,
        due_back_at=outing.due_back_at, alarm_at=outing.contact_due_at + ASKED_FIRST, raised_at=now,
    )  # fmt: skip
    return raise_all([alarm], Crew(now), now=now, write=_write) == 1


@transaction.atomic
def climb(alarm_id: int, *, now: dt.datetime) -> bool:
    """The next stage, or the same said again. True when a stage was added.

    The outing's row is taken first, as a check-out does: whoever is back is not looked for.
    """
    found = Alarm.objects.filter(pk=alarm_id).values_list("outing_id", flat=True).first()
    outing = found and locked_unless_busy(Outing.objects.select_related(*RELATED), pk=found)
    if not outing:
        return False
    alarm = locked(Alarm.objects, pk=alarm_id)
    alarm.outing = outing
    if alarm.next_at is None or alarm.next_at > now or over_alarms(now).filter(pk=alarm_id).exists():
        return False
    if alarm.kind == Kind.OVERDUE and outing.deadline_number > alarm.deadline_number:
        Alarm.objects.filter(pk=alarm_id).update(next_at=None)  # the new deadline has an alarm of its own
        return False
    crew = Crew(now)
    alarm_at = alarm.alarm_at or alarm.due_back_at
    step = ladder.due_step(
        crew.policy(outing.beat).ladder, alarm_at=alarm_at, stage=alarm.stage, turn=alarm.turn, now=now,
        promise_broken=alarm.acknowledgements.filter(promised_until=alarm.next_at).exists(),
    )  # fmt: skip
    if step.stage == alarm.stage:
        return _say_again(alarm, crew, now=now)
    Alarm.objects.filter(pk=alarm_id).update(next_at=None)
    higher = Alarm(
        outing=outing, kind=alarm.kind, deadline_number=alarm.deadline_number, occasion=alarm.occasion,
        stage=step.stage, due_back_at=alarm.due_back_at, alarm_at=alarm_at, raised_at=now, words=alarm.words,
    )  # fmt: skip
    return raise_all([higher], crew, now=now, write=_write) == 1


def _say_again(alarm: Alarm, crew: Crew, *, now: dt.datetime) -> bool:
    alarm.turn += 1
    alarm.next_at = next_at(alarm, crew, now=now)
    Delivery.objects.bulk_create(_write(alarm, crew, now=now))
    alarm.save(update_fields=["turn", "next_at", "unreached"])
    record("say alarm again", alarm, by=None, now=now, fishery=alarm.outing.beat.fishery,
           after={"stage": alarm.stage, "turn": alarm.turn})  # fmt: skip
    crash_point("before commit of a repeat")
    return False


# --- Clearing ----------------------------------------------------------------------------------


@transaction.atomic
def clear_alarm(alarm_id: int, *, now: dt.datetime) -> bool:
    """One all-clear to everybody who was told, in one commit; messages still held back are not needed."""
    related = Alarm.objects.select_related("outing__guest", "outing__beat__fishery", "outing__pool")
    alarm = locked_unless_busy(related, pk=alarm_id, cleared_at__isnull=True)
    if alarm is None or not over_alarms(now).filter(pk=alarm_id).exists():
        return False
    alarm.cleared_at, alarm.next_at = now, None
    alarm.save(update_fields=["cleared_at", "next_at"])
    alarm.deliveries.filter(about=Delivery.About.OVERDUE, state=Delivery.State.WAITING, rank__gt=0).update(
        state=Delivery.State.NOT_NEEDED
    )
    Delivery.objects.bulk_create(writing.all_clear_messages(alarm, _news(alarm), now=now))
    record("clear alarm", alarm, by=None, now=now, fishery=alarm.outing.beat.fishery)
    crash_point("before commit of an all-clear")
    return True


def _news(alarm: Alarm) -> wording.Words:
    outing, missing = alarm.outing, writing.missing_of(alarm)
    if alarm.closed_at is not None:
        who = str(alarm.closed_by) if alarm.closed_by else "a keeper"
        return wording.closed(missing, who=who, note=writing.one_line(alarm.closed_note))
    if outing.checked_out_at is None and alarm.kind != Kind.OVERDUE:
        return wording.heard(missing, kind=alarm.kind)
    new_time = None if outing.checked_out_at else outing.due_back_at
    return wording.all_clear(missing, checked_out_at=outing.checked_out_at, new_time_at=new_time)


# --- One bad row holds nobody up ---------------------------------------------------------------


def _in_batches(due: QuerySet[Outing], now: dt.datetime) -> tuple[int, int]:
    """Batch by batch; a batch that fails is done again row by row, so that one bad row stands alone."""
    done = failed = 0
    found, crew = list(due.values_list("pk", flat=True)), Crew(now)
    for start in range(0, len(found), BATCH):
        some = found[start : start + BATCH]
        try:
            done += _raise_batch(some, now, crew)
        except Exception:
            log.exception("%s alarms at once could not be written; each will be tried by itself", len(some))
            more, bad = _each(some, lambda pk: raise_alarm(pk, now=now))
            done, failed = done + more, failed + bad
    return done, failed


def _each(rows: Iterable, act: Callable[[int], bool], room_s: float | None = None) -> tuple[int, int]:
    """Row by row, for `room_s` seconds at most."""
    done = failed = 0
    ends = None if room_s is None else time.monotonic() + room_s
    found = rows if isinstance(rows, list) else list(rows.values_list("pk", flat=True))
    for pk in found:
        try:
            done += bool(act(pk))
        except DatabaseError:
            failed += 1
            log.exception("the database refused a row of the watch (%s); it will try again", pk)
        except Exception:
            failed += 1
            log.exception("the watch could not handle %s; it will try again", pk)
        if ends is not None and time.monotonic() > ends:
            break
    return done, failed
