"""The waiting list: who would take a week that nobody claims."""

import datetime as dt
from typing import Any

from django.db import transaction

from beats.audit import record
from beats.models import Beat, Fishery, User
from beats.queries import Role, require_role
from beats.shared.once import Once, make_once
from beats.shared.phrases import say
from beats.shared.refusals import NotYours
from beats.shares import refuse_when_full
from bookings.models import Guest, Waiting
from bookings.services.claims import BadLet


def join_waiting(
    fishery: Fishery,
    *,
    guest: Guest,
    beat: Beat | None,
    week: int | None,
    rods: int,
    by: User,
    now: dt.datetime,
    once: Once | None = None,
) -> tuple[Waiting, bool]:
    """Put a guest on the waiting list; a guest may put themselves on it. Returns (entry, new?).

    Raises BadLet when more rods are wanted than there are, NotYours, KeyReused.
    """
    _require_keeper_or_self(fishery, guest, by)
    most = beat.rods if beat else max(fishery.beats.values_list("rods", flat=True), default=0)
    if rods > most:
        raise BadLet(
            say("There are {most} rods at most. Wait for fewer.", most=most),
            errors={"rods": [say("At most {most}.", most=most)]},
        )

    def make(columns: dict[str, Any]) -> Waiting:
        refuse_when_full("waiting", Waiting.objects.filter(fishery=fishery, left_at=None))
        facts = {"guest": guest, "beat": beat, "week": week, "rods": rods}
        entry = Waiting.objects.create(fishery=fishery, since=now, **facts, **columns)
        told = {"guest": guest.pk, "beat": beat.slug if beat else None, "week": week, "rods": rods}
        record("join waiting list", entry, by=by, now=now, fishery=fishery, after=told)
        return entry

    return make_once(Waiting, by=by, once=once, make=make)


@transaction.atomic
def leave_waiting(entry: Waiting, *, by: User, now: dt.datetime) -> None:
    """Take a guest off the list; an offer already made stands until it is answered. Twice changes nothing."""
    _require_keeper_or_self(entry.fishery, entry.guest, by)
    if Waiting.objects.filter(pk=entry.pk, left_at=None).update(left_at=now):
        record("leave waiting list", entry, by=by, now=now, fishery=entry.fishery)


def _require_keeper_or_self(fishery: Fishery, guest: Guest, by: User) -> None:
    try:
        require_role(by, fishery, Role.OWNER, Role.GHILLIE)
    except NotYours:
        if guest.user_id != by.pk:
            raise
