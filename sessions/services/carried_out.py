"""Which plans a check-in carries out, and which are left to begin by themselves later."""

import datetime as dt

from django.db.models import Exists, OuterRef, Q

from sessions.deadlines import Deadline
from sessions.models import Outing, Plan

PLAN_STARTS_WITHIN = dt.timedelta(hours=1)


def replace_plans(outing: Outing, *, now: dt.datetime) -> None:
    """Withdraw the plans that this check-in carries out; one for later in the day is kept for its own time.

    A plan is carried out by a check-in from an hour before its start (common practice, no source), or by an outing
    that lasts as long as the plan.
    """
    waiting = Plan.objects.filter(
        guest=outing.guest_id, beat=outing.beat_id, outing__isnull=True, called_off_at__isnull=True,
        due_back_at__gt=outing.checked_in_at,
    )  # fmt: skip
    replaced = _carried_out(checked_in_at=outing.checked_in_at, due_back_at=outing.due_back_at)
    waiting.filter(replaced).update(called_off_at=now, replaced_by=outing)


def _carried_out(*, checked_in_at: dt.datetime, due_back_at: dt.datetime) -> Q:
    """The plans that a check-in at `checked_in_at` carries out."""
    soon = Q(out_at__lte=checked_in_at + PLAN_STARTS_WITHIN)
    return Q(out_at__lt=due_back_at) & (soon | Q(due_back_at__lte=due_back_at))


def keep_plan_waiting(outing: Outing, set_for: Deadline, *, entered_at: dt.datetime) -> None:
    """The outing turns out to have begun at `entered_at`, too early to be its plan's: the plan begins after it."""
    carried_out = _carried_out(checked_in_at=entered_at, due_back_at=set_for.due_back_at)
    too_early = Plan.objects.filter(~carried_out, out_at__gt=entered_at)
    too_early.filter(outing=outing).update(outing=None)
    planned_again = Plan.objects.filter(
        guest=OuterRef("guest"), out_at=OuterRef("out_at"), called_off_at__isnull=True
    )
    replaced = too_early.filter(~Exists(planned_again), replaced_by=outing)
    replaced.update(called_off_at=None, replaced_by=None)
