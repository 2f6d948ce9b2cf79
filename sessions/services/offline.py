"""Check-ins and check-outs that were entered on a phone without signal and arrive late, in any order.

Every entry keeps the time at which it was entered. The rules:

- An entry acts on the outing of its own time. Nothing entered before an outing began can end it.
- A late check-in is always recorded, also where a check-in at the waterside would be refused: whoever entered it
  may be on the water. Where an outing already covers its time, it is kept with that outing; if a check-out then
  shows that the outing ended before, the check-in begins an outing of its own.
- Where the entries leave a doubt, the angler stays watched, until the earlier of two times back.
"""

import datetime as dt
import uuid
from typing import Any

from django.db import transaction
from django.db.models import Q
from django.utils.dateparse import parse_datetime

from beats.audit import record
from beats.models import Beat, User
from beats.shared.phrases import say
from beats.shared.refusals import Refusal
from beats.shared.rows import locked
from bookings.models import Guest
from sessions.deadlines import Deadline
from sessions.models import Outing, PhoneNote, Plan
from sessions.services.carried_out import keep_plan_waiting, replace_plans
from sessions.services.entries import NO_REPORT, Report
from sessions.services.outings import (
    AT_ONCE,
    check_out,
    confirm,
    deadline_of,
    extend,
    go_out,
    new_code,
)

OLDEST = dt.timedelta(days=7)
"""An entry said to be older than this has lost its time: no phone waits that long on a fishing week."""
SHORTEST = dt.timedelta(minutes=1)
FACTS = ("pool", "alone", "plan", "party", "vehicle", "wearing", "sea_trout_only", "meeting_person", "meeting_at")
"""What a check-in says besides its times."""
Act = PhoneNote.Act


def enter_check_in(
    guest: Guest, beat: Beat, facts: dict[str, Any], *, due_back_at: dt.datetime, entered_at: dt.datetime,
    key: str | None, columns: dict[str, Any], by: User, now: dt.datetime,
) -> Outing:  # fmt: skip
    """Record a check-in that was entered at `entered_at`, inside a transaction; a repeat of `key` changes nothing.

    Returns the outing it counts for, with `was_there` set where that was open before.
    """
    locked(Guest.objects, pk=guest.pk)
    if key and (earlier := PhoneNote.objects.filter(guest=guest, key=key, act=Act.IN).first()) and earlier.outing:
        earlier.outing.was_there = True
        return earlier.outing
    if now - entered_at > OLDEST:
        entered_at = min(now, due_back_at - SHORTEST)
    if not key or PhoneNote.objects.filter(guest=guest, key=key).exists():
        key = str(uuid.uuid4())
    note = _note_check_in(
        guest, beat.pk, facts, key=key, at=entered_at, due_back_at=due_back_at, now=now, said_at=entered_at
    )
    note.outing = _place(note, beat, facts, columns, by=by, now=now)
    note.save(update_fields=["outing"])
    return note.outing


def entered(said_at: dt.datetime | None, *, now: dt.datetime) -> dt.datetime | None:
    """When something was entered, if it had to wait for signal; None for what is entered now.

    Raises TimeUnknown for a time more than a week old, or still to come.
    """
    if said_at is None or abs(now - said_at) <= AT_ONCE:
        return None
    if not dt.timedelta(0) < now - said_at <= OLDEST:
        raise time_unknown()
    return said_at


def outing_at(guest: Guest, at: dt.datetime) -> Outing | None:
    """The outing that covers an instant: begun by then, and not over before or at it. The latest begun."""
    rows = Outing.objects.filter(Q(checked_out_at__isnull=True) | Q(checked_out_at__gt=at), guest=guest)
    return rows.filter(checked_in_at__lte=at).order_by("-checked_in_at", "-id").first()


@transaction.atomic
def check_out_entered(
    outing: Outing, *, said_at: dt.datetime | None, by: User, now: dt.datetime, report: Report = NO_REPORT
) -> Outing:
    """Check out of one outing, as it was entered at `said_at`; None means now. A second time changes nothing.

    `report` says who told a keeper. Raises EnteredBefore, TimeUnknown, BadReport.
    """
    at = entered(said_at, now=now)
    if at is None:
        return check_out(outing, report=report, by=by, now=now)
    locked(Guest.objects, pk=outing.guest_id)
    if outing.checked_out_at is None and at < outing.checked_in_at:
        raise _entered_before()
    outing = check_out(outing, report=report, by=by, now=now, entered_at=at)
    settle_check_ins(outing, by=by, now=now)
    return outing


@transaction.atomic
def change_time_back(
    outing: Outing, *, due_back_at: dt.datetime, said_at: dt.datetime | None, by: User, now: dt.datetime,
    report: Report = NO_REPORT,
) -> Outing:  # fmt: skip
    """A new time back, as it was entered at `said_at`; None means now. `report` says who told a keeper.

    One that was entered before the angler was last heard from may shorten the outing and never lengthens it.
    Raises EnteredBefore, TimeUnknown, BadDueBack, AlreadyBack, BadReport.
    """
    at = entered(said_at, now=now)
    if at is not None:
        outing.refresh_from_db(fields=["heard_at", "due_back_at", "checked_in_at"])
        older = outing.heard_at is not None and at < outing.heard_at
        if at < outing.checked_in_at or (older and due_back_at > outing.due_back_at):
            raise _entered_before()
    return extend(outing, due_back_at=due_back_at, by=by, now=now, entered_at=at, report=report)


def settle_check_ins(outing: Outing, *, by: User | None, now: dt.datetime) -> None:
    """After `outing` has ended: check-ins kept with it that were entered later begin outings of their own."""
    kept = PhoneNote.objects.filter(act=Act.IN, outing=outing, happened_at__gte=outing.checked_out_at)
    for note in kept.filter(happened_at__gt=outing.checked_in_at).order_by("happened_at", "id"):
        facts = dict(note.facts)
        beat = Beat.objects.select_related("fishery").get(pk=facts.pop("beat"))
        facts["pool"] = beat.pools.filter(pk=facts["pool"]).first() if facts["pool"] else None
        facts["meeting_at"] = parse_datetime(facts.get("meeting_at") or "")
        columns = {"made_by": by, "request_key": None, "request_fingerprint": ""}
        note.outing = _place(note, beat, facts, columns, by=by, now=now)
        note.save(update_fields=["outing"])


def _note_check_in(
    guest: Guest, beat_id: int, facts: dict[str, Any], *, key: str, at: dt.datetime, due_back_at: dt.datetime,
    now: dt.datetime, **more: Any,
) -> PhoneNote:  # fmt: skip
    """A check-in of `at` as `settle_check_ins` reads it."""
    kept = {name: _to_json(value) for name, value in facts.items()} | {"beat": beat_id}
    return PhoneNote.objects.create(
        guest=guest, key=key, act=Act.IN, received_at=now, age_s=(now - at).total_seconds(), happened_at=at,
        due_back_at=due_back_at, facts=kept, **more,
    )  # fmt: skip


def _to_json(value: Any) -> Any:
    return value.isoformat() if isinstance(value, dt.datetime) else getattr(value, "pk", value)


def _place(
    note: PhoneNote, beat: Beat, facts: dict[str, Any], columns: dict[str, Any], *, by: User | None,
    now: dt.datetime,
) -> Outing:  # fmt: skip
    """The outing a late check-in counts for: one there is, or a new one."""
    guest, at = note.guest, note.happened_at
    set_for = _deadline(note, beat, alone=facts["alone"])
    ended = PhoneNote.objects.filter(guest=guest, act=Act.OUT, happened_at__gt=at).order_by("happened_at").first()
    there = _same_outing(guest, at, ended)
    if there is not None and there.unconfirmed:
        there = locked(Outing.objects.select_related("guest", "beat__fishery", "pool"), pk=there.pk)
        return confirm(there, facts, set_for, columns, entered_at=at, by=by, now=now)
    if there is None and ended is None:
        there = Outing.objects.filter(guest=guest, checked_out_at__isnull=True).first()
    if there is not None:
        return _keep_with(there, set_for, at=at, by=by, now=now)
    if ended is not None:
        return _over_already(note, ended, columns | facts | {"beat": beat}, set_for, by=by, now=now)
    outing = go_out(guest, beat, facts, set_for, checked_in_at=at, now=now, columns=columns, heard_at=at)
    replace_plans(outing, now=now)
    after = {"guest": guest.pk, "beat": beat.slug, "alone": outing.alone, "due_back_at": outing.due_back_at,
             "entered_at": at, "watch_limits": " ".join(outing.watch_limits)}  # fmt: skip
    record("check in", outing, by=by, now=now, fishery=beat.fishery, after=after)
    return outing


def _same_outing(guest: Guest, at: dt.datetime, ended: PhoneNote | None) -> Outing | None:
    """An outing that covers the time of a check-in, or that began with it though a later one arrived first."""
    covering = outing_at(guest, at)
    if covering is not None and (
        covering.unconfirmed or covering.checked_out_at is None or _ended_by_phone(covering)
    ):
        return covering
    later = Outing.objects.filter(guest=guest, checked_in_at__gt=at).order_by("checked_in_at", "id").first()
    if later is None or (ended is not None and ended.happened_at < later.checked_in_at):
        return None
    return None if _called_off(later) else later


def _called_off(outing: Outing) -> bool:
    """Whether it ended because its plan was called off, which says nothing of a check-in from before the plan."""
    if outing.checked_out_at is None or _ended_by_phone(outing):
        return False
    return outing.unconfirmed or Plan.objects.filter(outing=outing, called_off_at=outing.checked_out_at).exists()


def _deadline(note: PhoneNote, beat: Beat, *, alone: bool) -> Deadline:
    """The time back that was entered, within the beat's longest outing; or an earlier one entered since."""
    at = note.happened_at
    due = earliest_due(note.guest, note.due_back_at, since=at)
    due = min(max(due, at + SHORTEST), at + dt.timedelta(minutes=beat.longest_outing_minutes))
    return deadline_of(beat, due_back_at=due, alone=alone)


def earliest_due(guest: Guest, due_back_at: dt.datetime, *, since: dt.datetime) -> dt.datetime:
    """The time back of an outing that begins at `since`, or an earlier one the angler entered after that."""
    entered_later = PhoneNote.objects.filter(guest=guest, happened_at__gt=since, due_back_at__gt=since)
    return min([due_back_at, *entered_later.values_list("due_back_at", flat=True)])


def _ended_by_phone(outing: Outing) -> bool:
    """Whether the angler's own check-out ended it; a keeper's says nothing of another outing."""
    return PhoneNote.objects.filter(act=Act.OUT, outing=outing, happened_at=outing.checked_out_at).exists()


def _keep_with(outing: Outing, set_for: Deadline, *, at: dt.datetime, by: User | None, now: dt.datetime) -> Outing:
    """The check-in begins no outing. An earlier time back is taken over, a later one is not."""
    if at < outing.checked_in_at:
        _keep_own_check_in(outing, now=now)
        outing.checked_in_at = at
        outing.save(update_fields=["checked_in_at"])
        keep_plan_waiting(outing, set_for, entered_at=at)
    if outing.checked_out_at is None and set_for.due_back_at < outing.due_back_at:
        outing = extend(outing, due_back_at=set_for.due_back_at, by=by, now=now, entered_at=at)
    outing.was_there = True
    record("check in", outing, by=by, now=now, fishery=outing.beat.fishery,
           after={"entered_at": at, "already_out": True})  # fmt: skip
    return outing


def _keep_own_check_in(outing: Outing, *, now: dt.datetime) -> None:
    """Note the outing's own check-in: a check-out from before it may arrive yet, and must not end it."""
    at = outing.checked_in_at
    if outing.unconfirmed or PhoneNote.objects.filter(act=Act.IN, outing=outing, happened_at=at).exists():
        return
    facts = {name: getattr(outing, name) for name in FACTS}
    _note_check_in(
        outing.guest, outing.beat_id, facts, key=str(uuid.uuid4()), at=at, due_back_at=outing.due_back_at, now=now,
        outing=outing,
    )  # fmt: skip


def _over_already(
    note: PhoneNote, ended: PhoneNote, facts: dict[str, Any], set_for: Deadline, *, by: User | None,
    now: dt.datetime,
) -> Outing:  # fmt: skip
    """The check-out came first: the outing is recorded, and over."""
    outing = Outing.objects.create(
        guest=note.guest, **facts, checked_in_at=note.happened_at, heard_at=ended.happened_at,
        due_back_at=set_for.due_back_at, alarm_at=set_for.alarm_at, checked_out_at=ended.happened_at,
        code=new_code(),
    )  # fmt: skip
    if ended.outing_id is None:
        PhoneNote.objects.filter(pk=ended.pk).update(outing=outing)
    after = {"entered_at": note.happened_at, "after_check_out": True}
    record("check in", outing, by=by, now=now, fishery=outing.beat.fishery, after=after)
    return outing


class EnteredBefore(Refusal):
    """An entry from before the outing began cannot change it."""

    code = "entered-before"
    title = say("Entered before this outing began")


class TimeUnknown(Refusal):
    """The phone cannot say when an entry was made."""

    code = "time-unknown"
    title = say("Time of entry unknown")


def _entered_before() -> EnteredBefore:
    return EnteredBefore(
        say(
            "This was entered before the outing began or before the angler was last heard from, so it was not "
            "used. They are still being watched. If it holds now, enter it again."
        )
    )


def time_unknown() -> TimeUnknown:
    return TimeUnknown(
        say(
            "Your phone cannot say when this was entered, perhaps because its clock was changed, so nothing was "
            "changed and you are still being watched. If it holds now, enter it again."
        )
    )
