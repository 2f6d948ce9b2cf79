"""The letting policy: how long holds and offers last, and what goes back on which notice."""

import datetime as dt
from collections.abc import Sequence

from django.db import IntegrityError, transaction

from beats.audit import record
from beats.models import Fishery, User
from beats.queries import Role, require_role
from beats.shared.phrases import say
from beats.shared.refusals import Refusal, Stale
from bookings.models import LettingPolicy, RefundStep
from bookings.terms_limits import MOST_REFUNDS, faults


class BadPolicy(Refusal):
    """The policy contradicts itself."""

    code = "bad-policy"
    title = say("This policy contradicts itself")
    status = 400


def set_policy(
    fishery: Fishery,
    *,
    hold_minutes: int,
    offer_minutes: int,
    refunds: Sequence[tuple[int, int]],
    version: int,
    by: User,
    now: dt.datetime,
) -> LettingPolicy:
    """Write the policy that is still at `version` anew, its refunds with it; (notice days, percent).

    Longer notice never gives back less. Lets cancelled before keep what they were told.
    Raises BadPolicy, Stale, NotYours.
    """
    require_role(by, fishery, Role.OWNER)
    _refuse_outside(hold_minutes, offer_minutes, refunds)
    _refuse_odd(refunds)
    facts = {"hold_minutes": hold_minutes, "offer_minutes": offer_minutes}
    with transaction.atomic():
        policy = _written(fishery, version, facts)
        policy.refund_steps.all().delete()
        RefundStep.objects.bulk_create(
            RefundStep(policy=policy, notice_days=days, percent=percent) for days, percent in refunds
        )
        told = facts | {"refunds": ", ".join(f"{days} days: {percent} %" for days, percent in refunds)}
        record("set letting policy", policy, by=by, now=now, fishery=fishery, after=told)
    return policy


def _refuse_outside(hold_minutes: int, offer_minutes: int, refunds: Sequence[tuple[int, int]]) -> None:
    wrong = faults({"hold_minutes": hold_minutes, "offer_minutes": offer_minutes})
    for days, percent in refunds:
        for name, texts in faults({"notice_days": days, "percent": percent}).items():
            wrong["refunds"] = [say("{name}: {what}", name=name, what=text) for text in texts]
    if len(refunds) > MOST_REFUNDS:
        wrong["refunds"] = [say("Give {most} steps at most.", most=MOST_REFUNDS)]
    if wrong:
        raise BadPolicy(say("This policy will not do. Mend what is named, and send it again."), errors=wrong)


def _refuse_odd(refunds: Sequence[tuple[int, int]]) -> None:
    steps = sorted(refunds)
    if len({days for days, _ in steps}) < len(steps):
        raise BadPolicy(
            say("One notice has two refunds. Give it one."), errors={"refunds": [say("The same notice twice.")]}
        )
    percents = [percent for _, percent in steps]
    if percents != sorted(percents):
        raise BadPolicy(
            say("A longer notice would give back less than a shorter one. Give back at least as much."),
            errors={"refunds": [say("Less for a longer notice.")]},
        )


def _written(fishery: Fishery, version: int, facts: dict[str, int]) -> LettingPolicy:
    """The first write makes the row; until then the defaults are version 1."""
    if LettingPolicy.objects.filter(fishery=fishery, version=version).update(version=version + 1, **facts):
        return LettingPolicy.objects.get(fishery=fishery)
    stale = Stale(say("Somebody changed the policy since you read it. Read it again, then make your change."))
    if version != 1:
        raise stale
    try:
        with transaction.atomic():
            return LettingPolicy.objects.create(fishery=fishery, version=2, **facts)
    except IntegrityError:
        raise stale from None
