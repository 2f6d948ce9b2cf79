"""Outings said beforehand. A plan that nobody called off begins by itself: a phone may lose its signal first."""

import datetime as dt
from typing import Any

from django.db import IntegrityError, transaction
from django.db.models import Exists, Max, OuterRef
from django.http import Http404

from beats.audit import record
from beats.models import Beat, Pool, User
from beats.queries import zone_of
from beats.shared.once import Once, make_once
from beats.shared.phrases import say
from beats.shared.refusals import Refusal
from beats.shared.rows import locked, locked_unless_busy
from bookings.models import Guest
from bookings.text_codes import standing_code
from sessions.deadlines import BadDueBack, Deadline, deadline
from sessions.models import Outing, Plan
from sessions.services.offline import earliest_due, entered, settle_check_ins
from sessions.services.outings import check_out, go_out, policy_of, require_own

FURTHEST = dt.timedelta(days=14)


class AlreadyPlanned(Refusal):
    """The guest has a plan for that very time."""

    code = "already-planned"
    title = say("Already planned")


def plan_outing(
    guest: Guest, *, beat: Beat, pool: Pool | None, alone: bool, out_at: dt.datetime, due_back_at: dt.datetime,
    plan: str = "", by: User, now: dt.datetime, once: Once | None = None,
) -> tuple[Plan, bool]:  # fmt: skip
    """Say beforehand when somebody goes out and is due back. Returns (plan, new?).

    Raises BadDueBack for a time the beat's policy does not allow, AlreadyPlanned, Http404.
    """
    require_own(guest, by)
    if beat.fishery_id != guest.fishery_id or (pool is not None and pool.beat_id != beat.pk):
        raise Http404

    def make(columns: dict[str, Any]) -> Plan:
        _check(beat, out_at=out_at, due_back_at=due_back_at, alone=alone, now=now)
        try:
            with transaction.atomic():
                made = Plan.objects.create(
                    guest=guest, beat=beat, pool=pool, alone=alone, plan=plan, out_at=out_at,
                    due_back_at=due_back_at, planned_at=now, **columns,
                )  # fmt: skip
        except IntegrityError:
            raise AlreadyPlanned(
                say("There is a plan for that time. Call it off before you make another.")
            ) from None
        facts = {"guest": guest.pk, "alone": alone, "out_at": out_at, "due_back_at": due_back_at}
        record("plan outing", made, by=by, now=now, fishery=beat.fishery, after=facts)
        return made

    return make_once(Plan, by=by, once=once, make=make)


def _check(beat: Beat, *, out_at: dt.datetime, due_back_at: dt.datetime, alone: bool, now: dt.datetime) -> None:
    if not now - dt.timedelta(minutes=5) <= out_at <= now + FURTHEST:
        raise BadDueBack(
            say(
                "Plan an outing that begins within the next {furthest_days} days, or check in now.",
                furthest_days=FURTHEST.days,
            )
        )
    deadline(policy_of(beat), due_back_at=due_back_at, checked_in_at=out_at, alone=alone, now=now,
             zone=zone_of(beat.fishery))  # fmt: skip


@transaction.atomic
def call_off(plan: Plan, *, by: User, now: dt.datetime, said_at: dt.datetime | None = None) -> Plan:
    """Nobody goes out, or they are back before their check-in arrived. The earliest call-off counts.

    Where the plan has begun an outing by itself, that one is checked out. `said_at` is when it was entered, if it
    had to wait for signal: a check-in that was entered since stays watched.
    """
    require_own(plan.guest, by)
    locked(Guest.objects, pk=plan.guest_id)
    plan = locked(Plan.objects.select_related("guest", "beat__fishery", "pool", "outing"), pk=plan.pk)
    entered_at = entered(said_at, now=now)
    at = entered_at or now
    if plan.called_off_at is not None and plan.called_off_at <= at:
        if plan.replaced_by_id:  # their own word stands, whatever check-in turns up later
            plan.replaced_by = None
            plan.save(update_fields=["replaced_by"])
        return plan
    if plan.outing_id:
        began = locked(Outing.objects.select_related("guest", "beat__fishery"), pk=plan.outing_id)
        if began.checked_out_at is None and _ends(plan, began, at):
            began = check_out(began, by=by, now=now, entered_at=entered_at)
        elif began.checked_out_at is not None and began.checked_out_at == plan.called_off_at:
            began.checked_out_at = max(at, began.checked_in_at)
            began.save(update_fields=["checked_out_at"])
        if began.checked_out_at is not None:
            settle_check_ins(began, by=by, now=now)
    plan.called_off_at, plan.replaced_by = at, None
    plan.save(update_fields=["called_off_at", "replaced_by"])
    record("call off plan", plan, by=by, now=now, fishery=plan.beat.fishery)
    return plan


def _ends(plan: Plan, began: Outing, at: dt.datetime) -> bool:
    """Whether calling the plan off at `at` ends its outing.

    Not if the angler was heard from since, nor if they checked in before the plan began, which replaced the plan.
    """
    return began.unconfirmed or (at >= (began.heard_at or at) and began.checked_in_at >= plan.out_at)


def plans_to_begin(now: dt.datetime):
    """Plans whose time has come, that were neither called off nor begun, of people who are not out already."""
    out = Outing.objects.filter(guest=OuterRef("guest"), checked_out_at__isnull=True)
    waiting = Plan.objects.filter(~Exists(out), called_off_at__isnull=True, outing__isnull=True, out_at__lte=now)
    return waiting.order_by("out_at", "id")


@transaction.atomic
def begin(plan_id: int, *, now: dt.datetime) -> bool:
    """Let a plan begin without its angler's check-in. False when there is no need.

    Whoever is out already is watched by that outing, and the plan waits until it ends. If the plan's time back is
    still to come then, the plan begins at once; a plan whose whole time has passed meanwhile is called off.
    """
    related = Plan.objects.select_related("guest", "beat__fishery", "pool")
    plan = locked_unless_busy(
        related, pk=plan_id, called_off_at__isnull=True, outing__isnull=True, out_at__lte=now
    )
    if plan is None:
        return False
    before = Outing.objects.filter(guest=plan.guest)
    if before.filter(checked_out_at__isnull=True).exists():
        return False
    ended = before.filter(checked_out_at__gt=plan.out_at).aggregate(last=Max("checked_out_at"))["last"]
    begins_at = max(plan.out_at, ended or plan.out_at)
    if begins_at >= plan.due_back_at:
        plan.called_off_at = now
        plan.save(update_fields=["called_off_at"])
        record("call off plan", plan, by=None, now=now, fishery=plan.beat.fishery, after={"already_out": True})
        return False
    # Not judged again: a late sweep or a stricter policy must not lose a deadline.
    policy = policy_of(plan.beat)
    grace = dt.timedelta(minutes=policy.lone_grace_minutes if plan.alone else policy.grace_minutes)
    due = earliest_due(plan.guest, plan.due_back_at, since=begins_at)
    set_for = Deadline(due, due + grace)
    facts = {"pool": plan.pool, "alone": plan.alone, "plan": plan.plan}
    columns = {"made_by": plan.made_by}
    plan.outing = go_out(
        plan.guest, plan.beat, facts, set_for, checked_in_at=begins_at, now=now, heard_at=plan.planned_at,
        columns=columns, unconfirmed=True, code=standing_code(plan.guest_id),
    )  # fmt: skip
    plan.save(update_fields=["outing"])
    record("begin by plan", plan.outing, by=None, now=now, fishery=plan.beat.fishery,
           after={"plan": plan.pk, "due_back_at": due})  # fmt: skip
    return True
