"""Out and back: check in, say that all is well, change the time back, check out.

Nothing here raises an alarm. The watch asks the database who is overdue, so a check-in is complete
the moment it is committed, and nothing needs to be sent anywhere for the angler to be watched.
"""

import datetime as dt
import secrets
from typing import Any

from django.db import IntegrityError, transaction
from django.http import Http404

from beats.audit import record
from beats.models import Beat, Membership, Pool, User
from beats.queries import role_in, zone_of
from beats.shared.limits import spend
from beats.shared.once import Once, make_once
from beats.shared.phrases import say
from beats.shared.refusals import Refusal
from beats.shared.rows import locked
from bookings.models import Guest
from sessions.deadlines import Deadline, Policy, alarm_at, contact_due, deadline, one_tap, warn_at
from sessions.guards import checked_in
from sessions.models import Outing
from sessions.services.carried_out import keep_plan_waiting, replace_plans
from sessions.services.entries import NO_REPORT, Act, Report, add_entry
from sessions.services.reachability import reach_columns

AT_ONCE = dt.timedelta(seconds=15)
"""An entry younger than this was not kept in the phone: it took so long to tap and to send."""
CHECK_INS_AN_HOUR = 200
"""Of one person, retries counted: a keeper's busiest morning is far below, a program gone wrong is not."""


class AlreadyOut(Refusal):
    """The guest has an outing that is still open."""

    code = "already-out"
    title = say("Already on the water")


class AlreadyBack(Refusal):
    """The outing is over."""

    code = "already-back"
    title = say("Already off the water")


def check_in(
    guest: Guest,
    *,
    beat: Beat,
    pool: Pool | None,
    alone: bool,
    due_back_at: dt.datetime,
    plan: str = "",
    party: int = 1,
    vehicle: str = "",
    wearing: str = "",
    meeting_person: str = "",
    meeting_at: dt.datetime | None = None,
    said_at: dt.datetime | None = None,
    sea_trout_only: bool = False,
    report: Report = NO_REPORT,
    by: User,
    now: dt.datetime,
    once: Once | None = None,
) -> tuple[Outing, bool]:
    """Note that `guest` goes on the water now. Returns (outing, new?).

    An outing that its plan began without them is confirmed rather than made. `said_at` is when it was entered on a
    phone that had to wait for signal: such a check-in is recorded whatever would be refused to somebody still on
    the bank (`offline.py`). The law is not asked: whoever goes out is watched, whatever they may fish for. What
    the watch cannot do for them is kept with the outing and never refuses it. `report` says who told a keeper.
    Raises BadDueBack, AlreadyOut, BadReport, KeyReused, TooOften; Http404 for a guest who is not the caller's to
    check in.
    """
    require_own(guest, by)
    spend("check in", str(by.pk), allowed=CHECK_INS_AN_HOUR, each=dt.timedelta(hours=1), now=now)
    if beat.fishery_id != guest.fishery_id or (pool is not None and pool.beat_id != beat.pk):
        raise Http404
    facts = {"pool": pool, "alone": alone, "plan": plan, "party": 1 if alone else party,
             "vehicle": vehicle, "wearing": wearing, "sea_trout_only": sea_trout_only,
             "meeting_person": meeting_person, "meeting_at": meeting_at}  # fmt: skip

    def make(columns: dict[str, Any]) -> Outing:
        # In here, so that a late retry gets the outing it made instead of a refusal about the time.
        if said_at is not None and now - said_at > AT_ONCE:
            from sessions.services.offline import enter_check_in  # noqa: PLC0415 - it builds on this module

            return enter_check_in(
                guest, beat, facts, due_back_at=due_back_at, entered_at=said_at, key=columns["request_key"],
                columns=columns, by=by, now=now,
            )  # fmt: skip
        set_for = _deadline(beat, due_back_at=due_back_at, checked_in_at=now, alone=alone, now=now)
        begun = begun_by_plan(guest, beat)
        if begun is not None:
            add_entry(begun, Act.CHECK_IN, by=by, report=report, now=now)
            return confirm(begun, facts, set_for, columns, entered_at=now, by=by, now=now, report=report)
        outing = go_out(guest, beat, facts, set_for, checked_in_at=now, now=now, columns=columns)
        replace_plans(outing, now=now)
        add_entry(outing, Act.CHECK_IN, by=by, report=report, now=now)
        told = {"guest": guest.pk, "beat": beat.slug, "alone": alone, "due_back_at": due_back_at,
                "watch_limits": " ".join(outing.watch_limits)}  # fmt: skip
        record("check in", outing, by=by, now=now, fishery=beat.fishery, after=told | report.as_facts())
        return outing

    outing, made = make_once(Outing, by=by, once=once, make=make)
    return outing, made and not getattr(outing, "was_there", False)


def go_out(
    guest: Guest, beat: Beat, facts: dict[str, Any], set_for: Deadline, *, checked_in_at: dt.datetime,
    now: dt.datetime, columns: dict[str, Any], heard_at: dt.datetime | None = None, unconfirmed: bool = False,
    code: str = "",
) -> Outing:  # fmt: skip
    """A new open outing with its deadlines and what the watch cannot do for it, inside a transaction.

    `heard_at` is when the angler said so, if not now; `unconfirmed`: the watch begins it by its plan. Raises
    AlreadyOut.
    """
    heard_at = heard_at or now
    facts = facts | reach_columns(guest, beat, alone=facts["alone"], now=now, by_watch=unconfirmed)
    try:
        with transaction.atomic():
            outing = Outing.objects.create(
                guest=guest, beat=beat, **facts, checked_in_at=checked_in_at, heard_at=heard_at,
                due_back_at=set_for.due_back_at, alarm_at=set_for.alarm_at,
                warn_at=warn_at(beat.warn_minutes, due_back_at=set_for.due_back_at, now=heard_at),
                contact_due_at=contact_due(beat.contact_minutes, alone=facts["alone"], now=checked_in_at),
                contact_number=1, code=code or new_code(), unconfirmed=unconfirmed, **columns,
            )  # fmt: skip
    except IntegrityError:
        raise AlreadyOut(
            say(
                "{guest_name} is already checked in. Check out first, or change the time off the water.",
                guest_name=guest.name,
            )
        ) from None
    checked_in(outing, now)
    return outing


def new_code() -> str:
    """Four figures that a text message names its outing by."""
    return f"{secrets.randbelow(9000) + 1000}"


def begun_by_plan(guest: Guest, beat: Beat) -> Outing | None:
    begun = Outing.objects.filter(guest=guest, beat=beat, checked_out_at__isnull=True, unconfirmed=True).first()
    return _held(begun) if begun else None


def confirm(
    outing: Outing, facts: dict[str, Any], set_for: Deadline, columns: dict[str, Any], *,
    entered_at: dt.datetime, by: User, now: dt.datetime, report: Report = NO_REPORT,
) -> Outing:  # fmt: skip
    """The check-in of an outing that its plan began: its facts are the angler's own from now on."""
    before = {"due_back_at": outing.due_back_at, "deadline_number": outing.deadline_number}
    reach = reach_columns(outing.guest, outing.beat, alone=facts["alone"], now=now)
    for name, value in (facts | reach | columns).items():
        setattr(outing, name, value)
    outing.unconfirmed = False
    outing.checked_in_at = min(outing.checked_in_at, entered_at)
    _set_deadline(outing, set_for, now=now, heard_at=entered_at)
    outing.save()
    keep_plan_waiting(outing, set_for, entered_at=entered_at)
    after = {"due_back_at": outing.due_back_at, "deadline_number": outing.deadline_number, "alone": outing.alone}
    after |= report.as_facts()
    record("check in", outing, by=by, now=now, fishery=outing.beat.fishery, before=before, after=after)
    return outing


@transaction.atomic
def extend(
    outing: Outing, *, due_back_at: dt.datetime, by: User | None, now: dt.datetime,
    entered_at: dt.datetime | None = None, report: Report = NO_REPORT,
) -> Outing:  # fmt: skip
    """Set a new time back, later or sooner: a new deadline with a new number.

    The same time again changes nothing. `by` is None where a signed text message asked; `report` says who told a
    keeper. An earlier time that was entered at `entered_at` and had to wait for signal is taken even if it has
    passed meanwhile: they are then overdue at once. Raises BadDueBack, AlreadyBack, BadReport.
    """
    if by is not None:
        require_own(outing.guest, by)
    outing = open_outing_row(outing)
    if outing.due_back_at == due_back_at:
        return outing
    if entered_at is not None and outing.checked_in_at < due_back_at < outing.due_back_at:
        set_for = deadline_of(outing.beat, due_back_at=due_back_at, alone=outing.alone)
    else:
        set_for = _deadline(
            outing.beat, due_back_at=due_back_at, checked_in_at=outing.checked_in_at, alone=outing.alone, now=now
        )
    before = {"due_back_at": outing.due_back_at, "deadline_number": outing.deadline_number}
    _set_deadline(outing, set_for, now=now, heard_at=entered_at)
    outing.save()
    add_entry(outing, Act.MORE_TIME, by=by, report=report, now=now)
    after = {"due_back_at": due_back_at, "deadline_number": outing.deadline_number} | report.as_facts()
    record("change time back", outing, by=by, now=now, fishery=outing.beat.fishery, before=before, after=after)
    return outing


def extend_by(
    outing: Outing, *, minutes: int, by: User | None, now: dt.datetime, report: Report = NO_REPORT
) -> Outing:
    """One tap: so many minutes more, counted from the time back or from now when that has passed."""
    due = one_tap(outing.due_back_at, minutes=minutes, now=now)
    return extend(outing, due_back_at=due, by=by, now=now, report=report)


@transaction.atomic
def say_fine(outing: Outing, *, by: User | None, now: dt.datetime, heard_at: dt.datetime | None = None) -> Outing:
    """The angler says that all is well: the next contact is asked for later. The time back stays.

    `heard_at` is when they said so, if their phone had to wait; older than the last word it changes nothing. A
    change of deadlines is not one of its effects: whoever is overdue stays overdue. Raises AlreadyBack.
    """
    if by is not None:
        require_own(outing.guest, by)
    outing = open_outing_row(outing)
    heard_at = heard_at or now
    if outing.heard_at is not None and heard_at < outing.heard_at:
        return outing
    outing.heard_at = heard_at
    outing.contact_due_at = contact_due(outing.beat.contact_minutes, alone=outing.alone, now=heard_at)
    outing.contact_number += 1
    outing.save(update_fields=["heard_at", "contact_due_at", "contact_number"])
    record("say all is well", outing, by=by, now=now, fishery=outing.beat.fishery,
           after={"contact_number": outing.contact_number})  # fmt: skip
    return outing


@transaction.atomic
def check_out(
    outing: Outing, *, by: User | None, now: dt.datetime, entered_at: dt.datetime | None = None,
    report: Report = NO_REPORT,
) -> Outing:  # fmt: skip
    """Note that the angler is off the water. A second time changes nothing. `report` says who told a keeper.

    `entered_at` is when it was entered, if it had to wait for signal: that is when they came out. The audit row
    keeps when it was received.

    It holds the same row the watch holds while it raises an alarm: either this comes first and
    there is no alarm, or the alarm comes first and the watch sends the all-clear.
    """
    if by is not None:
        require_own(outing.guest, by)
    outing = _held(outing)
    if outing.checked_out_at is None:
        out_at, heard_before_at = max(entered_at or now, outing.checked_in_at), outing.heard_at
        outing.checked_out_at, outing.heard_at = out_at, max(out_at, outing.heard_at or out_at)
        outing.save(update_fields=["checked_out_at", "heard_at"])
        add_entry(outing, Act.CHECK_OUT, by=by, report=report, now=now, heard_before_at=heard_before_at)
        after = {"late": out_at >= outing.due_back_at, "checked_out_at": out_at} | report.as_facts()
        record("check out", outing, by=by, now=now, fishery=outing.beat.fishery, after=after)
    return outing


def policy_of(beat: Beat) -> Policy:
    return Policy(beat.longest_outing_minutes, beat.grace_minutes, beat.lone_grace_minutes)


def deadline_of(beat: Beat, *, due_back_at: dt.datetime, alone: bool) -> Deadline:
    """The deadline of a time back that is not judged again."""
    return Deadline(due_back_at, alarm_at(policy_of(beat), due_back_at=due_back_at, alone=alone))


def _deadline(beat: Beat, **when: Any) -> Deadline:
    return deadline(policy_of(beat), **when, zone=zone_of(beat.fishery))


def _set_deadline(
    outing: Outing, set_for: Deadline, *, now: dt.datetime, heard_at: dt.datetime | None = None
) -> None:
    """A new deadline counts as being heard from when it was entered, so the next contact is later too."""
    heard_at = max(heard_at or now, outing.heard_at or outing.checked_in_at)
    if outing.due_back_at != set_for.due_back_at or outing.alarm_at != set_for.alarm_at:
        outing.deadline_number += 1
    outing.due_back_at, outing.alarm_at, outing.heard_at = set_for.due_back_at, set_for.alarm_at, heard_at
    outing.warn_at = warn_at(outing.beat.warn_minutes, due_back_at=set_for.due_back_at, now=now)
    outing.contact_due_at = contact_due(outing.beat.contact_minutes, alone=outing.alone, now=heard_at)
    outing.contact_number += 1


def open_outing_row(outing: Outing) -> Outing:
    """The outing, its row locked. Raises AlreadyBack."""
    outing = _held(outing)
    if outing.checked_out_at:
        raise AlreadyBack(
            say(
                "{guest_name} is off the water already. Check in again to go on the water.",
                guest_name=outing.guest.name,
            )
        )
    return outing


def _held(outing: Outing) -> Outing:
    return locked(Outing.objects.select_related("guest", "beat__fishery", "pool"), pk=outing.pk)


def require_own(guest: Guest, by: User) -> None:
    """The angler themselves or a keeper of the fishery; to anyone else it does not exist."""
    if guest.user_id != by.pk and role_in(by, guest.fishery) not in Membership.KEEPERS:
        raise Http404
