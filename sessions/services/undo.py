"""Undo of a check-out within two minutes: the same outing, with its deadlines as they were."""

import datetime as dt

from django.db import IntegrityError, transaction

from beats.audit import record
from beats.models import User
from beats.shared.phrases import say
from beats.shared.refusals import Refusal
from beats.shared.rows import locked
from bookings.models import Guest
from sessions.guards import resume_all
from sessions.models import Outing, OutingEntry, PhoneNote
from sessions.services.by_phone import Said
from sessions.services.entries import NO_REPORT, Act, Report, add_entry, is_angler
from sessions.services.outings import AlreadyOut, require_own

UNDO_FOR = dt.timedelta(minutes=2)


class TooLateToUndo(Refusal):
    """The check-out is more than two minutes old, or was not entered as one."""

    code = "too-late-to-undo"
    title = say("Too late to undo")


def last_check_out(outing: Outing) -> OutingEntry | None:
    return outing.entries.filter(act=Act.CHECK_OUT).order_by("-id").first()


@transaction.atomic
def undo_check_out(
    outing: Outing, *, by: User, now: dt.datetime, entered_at: dt.datetime | None = None,
    report: Report = NO_REPORT,
) -> Outing:  # fmt: skip
    """Put the angler back on the water as if the check-out had not been made. A second time changes nothing.

    The two minutes run from when the server received the check-out. `entered_at` is when a phone without signal
    was told: an undo entered in time is accepted late, since refusing it would leave the angler unwatched. A
    deadline that has passed meanwhile counts at once, and alarms the check-out had cleared are raised again.
    Raises TooLateToUndo, AlreadyOut, BadReport; Http404 for somebody who is not the caller's to enter.
    """
    require_own(outing.guest, by)
    outing = locked(Outing.objects.select_related("guest", "beat__fishery", "pool"), pk=outing.pk)
    if outing.checked_out_at is None:
        return outing
    ended = last_check_out(outing)
    if ended is None or min(entered_at or now, now) > ended.at + UNDO_FOR:
        raise TooLateToUndo(
            say("The two minutes for undoing this check-out are over. On the water again? Check in again now.")
        )
    before = outing.checked_out_at
    outing.checked_out_at = None
    outing.heard_at = max(entered_at or now, before) if is_angler(outing, by) else ended.heard_before_at
    _save_open(outing)
    add_entry(outing, Act.UNDO, by=by, report=report, now=now)
    record("undo check out", outing, by=by, now=now, fishery=outing.beat.fishery,
           before={"checked_out_at": before}, after={"checked_out_at": None} | report.as_facts())  # fmt: skip
    resume_all(outing, ended_at=ended.at, now=now)
    return outing


def _save_open(outing: Outing) -> None:
    try:
        with transaction.atomic():
            outing.save(update_fields=["checked_out_at", "heard_at"])
    except IntegrityError:
        raise AlreadyOut(
            say(
                "{guest_name} has checked in again since, and is watched under that check-in.",
                guest_name=outing.guest.name,
            )
        ) from None


@transaction.atomic
def undo_by_phone(guest: Guest, said: Said, *, outing: Outing, by: User, now: dt.datetime) -> Outing:
    """As `undo_check_out`, once for each key a phone sends. Raises what that raises."""
    require_own(guest, by)
    facts = {
        "act": PhoneNote.Act.UNDO, "said_at": said.said_at, "age_s": max(said.age_s or 0.0, 0.0),
        "received_at": now, "happened_at": said.happened_at(now), "outing": outing,
    }  # fmt: skip
    note, fresh = PhoneNote.objects.get_or_create(guest=guest, key=said.key, defaults=facts)
    if not fresh:
        return outing
    return undo_check_out(outing, by=by, now=now, entered_at=note.happened_at)
