"""Out and back: check in, change the time back, check out.

Nothing here raises an alarm. The watch asks the database who is overdue, so a check-in is complete
the moment it is committed, and nothing needs to be sent anywhere for the angler to be watched.
"""

import datetime as dt
from typing import Any

from django.db import IntegrityError, transaction
from django.http import Http404

from beats.audit import record
from beats.models import Beat, Membership, Pool, User
from beats.queries import role_in, zone_of
from beats.shared.once import Once, make_once
from beats.shared.refusals import Refusal
from beats.shared.rows import locked
from bookings.models import Guest
from sessions.deadlines import Policy, deadline
from sessions.models import Outing


class AlreadyOut(Refusal):
    """The guest has an outing that is still open."""

    code = "already-out"
    title = "Already out"


class AlreadyBack(Refusal):
    """The outing is over."""

    code = "already-back"
    title = "Already back"


def check_in(
    guest: Guest,
    *,
    beat: Beat,
    pool: Pool | None,
    alone: bool,
    due_back_at: dt.datetime,
    plan: str = "",
    sea_trout_only: bool = False,
    by: User,
    now: dt.datetime,
    once: Once | None = None,
) -> tuple[Outing, bool]:
    """Note that `guest` goes on the water now. Returns (outing, new?).

    The law is not asked: whoever goes out is watched, whatever they may fish for. Raises
    BadDueBack, AlreadyOut, KeyReused; Http404 for a guest who is not the caller's to check in.
    """
    _require_own(guest, by)
    if beat.fishery_id != guest.fishery_id or (pool is not None and pool.beat_id != beat.pk):
        raise Http404

    def make(columns: dict[str, Any]) -> Outing:
        # In here, so that a phone's late retry gets the outing it made, not a lecture about the time.
        set_for = deadline(
            policy_of(beat), due_back_at=due_back_at, checked_in_at=now, alone=alone, now=now,
            zone=zone_of(beat.fishery),
        )  # fmt: skip
        try:
            with transaction.atomic():
                outing = Outing.objects.create(
                    guest=guest, beat=beat, pool=pool, alone=alone, plan=plan, checked_in_at=now,
                    sea_trout_only=sea_trout_only,
                    due_back_at=set_for.due_back_at, alarm_at=set_for.alarm_at, **columns,
                )  # fmt: skip
        except IntegrityError:
            raise AlreadyOut(
                f"{guest.name} is already checked in. Check out first, or change the time back."
            ) from None
        facts = {"guest": guest.pk, "beat": beat.slug, "alone": alone, "due_back_at": due_back_at}
        record("check in", outing, by=by, now=now, fishery=beat.fishery, after=facts)
        return outing

    return make_once(Outing, by=by, once=once, make=make)


@transaction.atomic
def extend(outing: Outing, *, due_back_at: dt.datetime, by: User, now: dt.datetime) -> Outing:
    """Set a new time back, later or sooner: a new deadline with a new number.

    The same time again changes nothing. Raises BadDueBack, AlreadyBack.
    """
    _require_own(outing.guest, by)
    outing = _held(outing)
    if outing.checked_out_at:
        raise AlreadyBack(f"{outing.guest.name} is already back. Check in again to go out.")
    if outing.due_back_at == due_back_at:
        return outing
    set_for = deadline(
        policy_of(outing.beat), due_back_at=due_back_at, checked_in_at=outing.checked_in_at,
        alone=outing.alone, now=now, zone=zone_of(outing.beat.fishery),
    )  # fmt: skip
    before = {"due_back_at": outing.due_back_at, "deadline_number": outing.deadline_number}
    outing.due_back_at, outing.alarm_at = set_for.due_back_at, set_for.alarm_at
    outing.deadline_number += 1
    outing.save(update_fields=["due_back_at", "alarm_at", "deadline_number"])
    record("change time back", outing, by=by, now=now, fishery=outing.beat.fishery, before=before,
           after={"due_back_at": due_back_at, "deadline_number": outing.deadline_number})  # fmt: skip
    return outing


@transaction.atomic
def check_out(outing: Outing, *, by: User, now: dt.datetime) -> Outing:
    """Note that the angler is back. A second time changes nothing.

    It holds the same row the watch holds while it raises an alarm: either this comes first and
    there is no alarm, or the alarm comes first and the watch sends the all-clear.
    """
    _require_own(outing.guest, by)
    outing = _held(outing)
    if outing.checked_out_at is None:
        outing.checked_out_at = now
        outing.save(update_fields=["checked_out_at"])
        record("check out", outing, by=by, now=now, fishery=outing.beat.fishery,
               after={"late": now >= outing.due_back_at})  # fmt: skip
    return outing


def policy_of(beat: Beat) -> Policy:
    return Policy(beat.longest_outing_minutes, beat.grace_minutes, beat.lone_grace_minutes)


def _held(outing: Outing) -> Outing:
    return locked(Outing.objects.select_related("guest", "beat__fishery", "pool"), pk=outing.pk)


def _require_own(guest: Guest, by: User) -> None:
    """The angler themselves or a keeper of the fishery; to anyone else it does not exist."""
    if guest.user_id != by.pk and role_in(by, guest.fishery) not in Membership.KEEPERS:
        raise Http404
