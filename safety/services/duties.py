"""Who stands by, and a beat's policy."""

import datetime as dt
from typing import Any

from django.db import transaction

from beats.audit import record
from beats.models import Beat, Fishery, Membership, User
from beats.queries import Role, require_role, role_in
from beats.shared.once import Once, make_once
from beats.shared.phrases import say
from beats.shared.refusals import Refusal, Stale
from beats.shared.rows import locked
from safety import policy
from safety.models import Duty

LONGEST = dt.timedelta(days=14)


class BadDuty(Refusal):
    """A duty that nobody can keep."""

    code = "bad-duty"
    title = say("That duty will not do")
    status = 400


def stand_by(
    fishery: Fishery, *, user: int, from_at: dt.datetime, until_at: dt.datetime, by: User, now: dt.datetime,
    once: Once | None = None,
) -> tuple[Duty, bool]:  # fmt: skip
    """Note that a keeper stands by. Returns (duty, new?). Raises BadDuty, NotYours."""
    require_role(by, fishery, *Membership.KEEPERS)
    person = User.objects.filter(pk=user).first()
    if person is None or role_in(person, fishery) not in Membership.KEEPERS:
        raise BadDuty(
            say("Only the owner or a ghillie of the fishery stands by."),
            errors={"user": [say("Not a keeper here.")]},
        )
    if not from_at < until_at <= from_at + LONGEST:
        raise BadDuty(
            say("A duty ends after it starts, and lasts 14 days at most."),
            errors={"until_at": [say("Look again.")]},
        )

    def make(columns: dict[str, Any]) -> Duty:
        duty = Duty.objects.create(fishery=fishery, user=person, from_at=from_at, until_at=until_at, **columns)
        facts = {"user": person.pk, "from_at": from_at, "until_at": until_at}
        record("stand by", duty, by=by, now=now, fishery=fishery, after=facts)
        return duty

    return make_once(Duty, by=by, once=once, make=make)


@transaction.atomic
def stand_down(duty: Duty, *, by: User, now: dt.datetime) -> None:
    """Take a duty away."""
    require_role(by, duty.fishery, *Membership.KEEPERS)
    record("stand down", duty, by=by, now=now, fishery=duty.fishery, before={"user": duty.user_id})
    duty.delete()


@transaction.atomic
def set_policy(
    beat: Beat, *, rules: dict[str, Any], contact_minutes: int | None, warn_minutes: int | None,
    grace_minutes: int | None = None, lone_grace_minutes: int | None = None, version: int | None, by: User,
    now: dt.datetime,
) -> Beat:  # fmt: skip
    """The owner's word on a beat's watch that is still at `version` (None: any); minutes that are None stay.

    It holds from the next stage on, the grace for times back given from now on. Raises BadLadder, Stale, NotYours.
    """
    require_role(by, beat.fishery, Role.OWNER)
    beat = locked(Beat.objects.select_related("fishery"), pk=beat.pk)
    if version not in (None, beat.watch_version):
        raise Stale(say("Somebody changed this watch since you read it. Read it again, then make your change."))
    before = {"policy": str(beat.watch_policy)} | _minutes_of(beat)
    beat.watch_policy = policy.said(rules)
    asked = {
        "contact_minutes": contact_minutes, "warn_minutes": warn_minutes,
        "grace_minutes": grace_minutes, "lone_grace_minutes": lone_grace_minutes,
    }  # fmt: skip
    given = {name: minutes for name, minutes in asked.items() if minutes is not None}
    for name, minutes in given.items():
        setattr(beat, name, minutes)
    beat.watch_version += 1
    beat.save(update_fields=["watch_policy", "watch_version", *given])
    after = {"policy": str(rules)} | _minutes_of(beat)
    record("set watch policy", beat, by=by, now=now, fishery=beat.fishery, before=before, after=after)
    return beat


def _minutes_of(beat: Beat) -> dict[str, int]:
    """In the words of the trail."""
    return {
        "contact": beat.contact_minutes, "warn": beat.warn_minutes, "grace": beat.grace_minutes,
        "lone_grace": beat.lone_grace_minutes,
    }  # fmt: skip
