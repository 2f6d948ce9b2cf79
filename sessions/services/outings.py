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
from sessions.deadlines import Deadline, Policy, contact_due, deadline, one_tap, warn_at
from sessions.guards import GoingOut, ask_all
from sessions.models import Outing, PhoneNote, Plan
from sessions.services.entries import NO_REPORT, Act, Report, add_entry

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
    said_at: dt.datetime | None = None,
    sea_trout_only: bool = False,
    report: Report = NO_REPORT,
    by: User,
    now: dt.datetime,
    once: Once | None = None,
) -> tuple[Outing, bool]:
    """Note that `guest` goes on the water now. Returns (outing, new?).

    An outing that its plan began without them is confirmed rather than made. `said_at` is when a phone
    without signal was told of it: it never moves a deadline, it only shows that they are back since. The law is
    not asked: whoever goes out is watched, whatever they may fish for. `report` says who told a keeper. Raises
    BadDueBack, AlreadyOut, BadReport, KeyReused, TooOften and what the watch refuses; Http404 for a guest who is
    not the caller's to check in.
    """
    require_own(guest, by)
    spend("check in", str(by.pk), allowed=CHECK_INS_AN_HOUR, each=dt.timedelta(hours=1), now=now)
    if beat.fishery_id != guest.fishery_id or (pool is not None and pool.beat_id != beat.pk):
        raise Http404
    facts = {"pool": pool, "alone": alone, "plan": plan, "party": 1 if alone else party,
             "vehicle": vehicle, "wearing": wearing, "sea_trout_only": sea_trout_only}  # fmt: skip

    def make(columns: dict[str, Any]) -> Outing:
        # In here, so that a phone's late retry gets the outing it made, not a lecture about the time.
        if (back_at := _back_since(guest, said_at, now)) is not None:
            return _late_news(
                guest,
                beat,
                facts | columns,
                said_at=said_at,
                back_at=back_at,
                due_back_at=due_back_at,
                by=by,
                now=now,
            )
        begins_at = _began(said_at, due_back_at, now)
        set_for = _deadline(beat, due_back_at=due_back_at, checked_in_at=begins_at, alone=alone, now=begins_at)
        if begins_at == now:
            ask_all(GoingOut(guest, beat, alone, by, now))
        begun = _begun_by_plan(guest, beat)
        if begun is not None:
            add_entry(begun, Act.CHECK_IN, by=by, report=report, now=now)
            return _confirm(begun, facts, set_for, columns, by=by, now=now, report=report)
        outing = go_out(guest, beat, facts, set_for, checked_in_at=begins_at, now=now, columns=columns)
        Plan.objects.filter(
            guest=guest, beat=beat, outing__isnull=True, called_off_at__isnull=True,
            out_at__lt=due_back_at, due_back_at__gt=now,
        ).update(outing=None, called_off_at=now)  # fmt: skip
        add_entry(outing, Act.CHECK_IN, by=by, report=report, now=now)
        told = {"guest": guest.pk, "beat": beat.slug, "alone": alone, "due_back_at": due_back_at}
        record("check in", outing, by=by, now=now, fishery=beat.fishery, after=told | report.as_facts())
        return outing

    return make_once(Outing, by=by, once=once, make=make)


def go_out(
    guest: Guest, beat: Beat, facts: dict[str, Any], set_for: Deadline, *, checked_in_at: dt.datetime,
    now: dt.datetime, columns: dict[str, Any], unconfirmed: bool = False,
) -> Outing:  # fmt: skip
    """A new open outing with its deadlines, inside a transaction. Raises AlreadyOut."""
    try:
        with transaction.atomic():
            return Outing.objects.create(
                guest=guest, beat=beat, **facts, checked_in_at=checked_in_at, heard_at=now,
                due_back_at=set_for.due_back_at, alarm_at=set_for.alarm_at,
                warn_at=warn_at(beat.warn_minutes, due_back_at=set_for.due_back_at, now=now),
                contact_due_at=contact_due(beat.contact_minutes, alone=facts["alone"], now=checked_in_at),
                contact_number=1, code=new_code(), unconfirmed=unconfirmed, **columns,
            )  # fmt: skip
    except IntegrityError:
        raise AlreadyOut(
            say(
                "{guest_name} is already checked in. Check out first, or change the time off the water.",
                guest_name=guest.name,
            )
        ) from None


def _back_since(guest: Guest, said_at: dt.datetime | None, now: dt.datetime) -> dt.datetime | None:
    """When they came back, or called their plan off, after the phone was told that they went out."""
    if said_at is None or said_at >= now:
        return None
    back = Outing.objects.filter(guest=guest, checked_out_at__gte=said_at).values_list("checked_out_at", flat=True)
    said = PhoneNote.objects.filter(guest=guest, act=PhoneNote.Act.OUT, happened_at__gte=said_at)
    said = said.filter(outing__isnull=True).values_list("happened_at", flat=True)
    off = Plan.objects.filter(guest=guest, called_off_at__gte=said_at).values_list("called_off_at", flat=True)
    return max([*back, *said, *off], default=None)


def _began(said_at: dt.datetime | None, due_back_at: dt.datetime, now: dt.datetime) -> dt.datetime:
    """Now; or when the phone was told, where the time back has passed while the word waited for signal.

    They have been on the water since and may be missing: they are watched, and overdue at once, rather than
    refused a time that is past.
    """
    return said_at if said_at is not None and said_at < due_back_at <= now else now


def _late_news(guest, beat, facts, *, said_at, back_at, due_back_at, by, now) -> Outing:
    """A check-in that comes after its check-out opens nothing: the outing is noted, and over."""
    due = max(due_back_at, said_at + dt.timedelta(seconds=1))
    outing = Outing.objects.create(
        guest=guest, beat=beat, **facts, checked_in_at=said_at, heard_at=back_at, due_back_at=due, alarm_at=due,
        checked_out_at=back_at, code=new_code(),
    )  # fmt: skip
    record("check in", outing, by=by, now=now, fishery=beat.fishery, after={"after_check_out": True})
    return outing


def new_code() -> str:
    """Four figures that a text message names its outing by."""
    return f"{secrets.randbelow(9000) + 1000}"


def _begun_by_plan(guest: Guest, beat: Beat) -> Outing | None:
    begun = Outing.objects.filter(guest=guest, beat=beat, checked_out_at__isnull=True, unconfirmed=True).first()
    return _held(begun) if begun else None


def _confirm(outing: Outing, facts: dict[str, Any], set_for: Deadline, columns: dict[str, Any], *,
             by: User, now: dt.datetime, report: Report) -> Outing:  # fmt: skip
    """The check-in of an outing that its plan began: its facts are the angler's own from now on."""
    before = {"due_back_at": outing.due_back_at, "deadline_number": outing.deadline_number}
    for name, value in (facts | columns).items():
        setattr(outing, name, value)
    outing.unconfirmed = False
    _set_deadline(outing, set_for, now=now)
    outing.save()
    after = {"due_back_at": outing.due_back_at, "deadline_number": outing.deadline_number, "alone": outing.alone}
    after |= report.as_facts()
    record("check in", outing, by=by, now=now, fishery=outing.beat.fishery, before=before, after=after)
    return outing


@transaction.atomic
def extend(
    outing: Outing, *, due_back_at: dt.datetime, by: User | None, now: dt.datetime, report: Report = NO_REPORT
) -> Outing:
    """Set a new time back, later or sooner: a new deadline with a new number.

    The same time again changes nothing. `by` is None where a signed text message asked; `report` says who told a
    keeper. Raises BadDueBack, AlreadyBack, BadReport.
    """
    if by is not None:
        require_own(outing.guest, by)
    outing = _open(outing)
    if outing.due_back_at == due_back_at:
        return outing
    set_for = _deadline(
        outing.beat, due_back_at=due_back_at, checked_in_at=outing.checked_in_at, alone=outing.alone, now=now
    )
    before = {"due_back_at": outing.due_back_at, "deadline_number": outing.deadline_number}
    _set_deadline(outing, set_for, now=now)
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
    outing = _open(outing)
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
def check_out(outing: Outing, *, by: User | None, now: dt.datetime, report: Report = NO_REPORT) -> Outing:
    """Note that the angler is off the water. A second time changes nothing. `report` says who told a keeper.

    It holds the same row the watch holds while it raises an alarm: either this comes first and
    there is no alarm, or the alarm comes first and the watch sends the all-clear.
    """
    if by is not None:
        require_own(outing.guest, by)
    outing = _held(outing)
    if outing.checked_out_at is None:
        heard_before_at = outing.heard_at
        outing.checked_out_at = outing.heard_at = now
        outing.save(update_fields=["checked_out_at", "heard_at"])
        add_entry(outing, Act.CHECK_OUT, by=by, report=report, now=now, heard_before_at=heard_before_at)
        record("check out", outing, by=by, now=now, fishery=outing.beat.fishery,
               after={"late": now >= outing.due_back_at} | report.as_facts())  # fmt: skip
    return outing


def policy_of(beat: Beat) -> Policy:
    return Policy(beat.longest_outing_minutes, beat.grace_minutes, beat.lone_grace_minutes)


def _deadline(beat: Beat, **when: Any) -> Deadline:
    return deadline(policy_of(beat), **when, zone=zone_of(beat.fishery))


def _set_deadline(outing: Outing, set_for: Deadline, *, now: dt.datetime) -> None:
    """A new deadline counts as being heard from, so the next contact is asked for later too."""
    if outing.due_back_at != set_for.due_back_at or outing.alarm_at != set_for.alarm_at:
        outing.deadline_number += 1
    outing.due_back_at, outing.alarm_at, outing.heard_at = set_for.due_back_at, set_for.alarm_at, now
    outing.warn_at = warn_at(outing.beat.warn_minutes, due_back_at=set_for.due_back_at, now=now)
    outing.contact_due_at = contact_due(outing.beat.contact_minutes, alone=outing.alone, now=now)
    outing.contact_number += 1


def _open(outing: Outing) -> Outing:
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
