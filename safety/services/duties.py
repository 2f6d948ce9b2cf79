"""Who stands by, and a beat's policy."""

import datetime as dt
from typing import Any

from django.db import transaction

from beats.audit import record
from beats.models import Beat, Fishery, Membership, User
from beats.queries import Role, require_role, role_in
from beats.shared.once import Once, make_once
from beats.shared.refusals import Refusal, Stale
from beats.shared.rows import locked
from safety import policy
from safety.models import Duty

LONGEST = dt.timedelta(days=14)


class BadDuty(Refusal):
    """A duty that nobody can keep."""

    code = "bad-duty"
    title = "That duty will not do"
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
            "Only the owner or a ghillie of the fishery stands by.", errors={"user": ["Not a keeper here."]}
        )
    if not from_at < until_at <= from_at + LONGEST:
        raise BadDuty(
            "A duty ends after it starts, and lasts 14 days at most.", errors={"until_at": ["Look again."]}
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
    version: int | None, by: User, now: dt.datetime,
) -> Beat:  # fmt: skip
    """The owner's word on a beat's watch that is still at `version`, from the next stage on; None is any.

    Raises BadLadder, Stale, NotYours.
    """
    require_role(by, beat.fishery, Role.OWNER)
    beat = locked(Beat.objects.select_related("fishery"), pk=beat.pk)
    if version not in (None, beat.watch_version):
        raise Stale("Somebody changed this watch since you read it. Read it again, then make your change.")
    before = {"policy": str(beat.watch_policy), "contact": beat.contact_minutes, "warn": beat.warn_minutes}
    beat.watch_policy = policy.said(rules)
    beat.contact_minutes = beat.contact_minutes if contact_minutes is None else contact_minutes
    beat.warn_minutes = beat.warn_minutes if warn_minutes is None else warn_minutes
    beat.watch_version += 1
    beat.save(update_fields=["watch_policy", "contact_minutes", "warn_minutes", "watch_version"])
    after = {"policy": str(rules), "contact": beat.contact_minutes, "warn": beat.warn_minutes}
    record("set watch policy", beat, by=by, now=now, fishery=beat.fishery, before=before, after=after)
    return beat
