"""Going on the water by text message: a plan begins, or an outing with the most careful facts.

Nothing is refused for want of facts: whoever goes on the water is watched.
"""

import datetime as dt

from django.db import transaction

from beats.audit import record
from beats.conditions import conditions
from beats.models import Beat
from beats.queries import local_day, zone_of
from beats.shared.phrases import say
from beats.shared.refusals import Refusal
from beats.shared.rows import locked
from bookings.models import Guest, RodDay
from bookings.text_codes import standing_code
from sessions.deadlines import Deadline
from sessions.models import Outing, Plan
from sessions.services.outings import AlreadyOut, go_out, policy_of
from sessions.services.plans import begin

PLAN_AHEAD = dt.timedelta(hours=12)
"""A plan that begins within so long is the one an ON means."""
SHORTEST = dt.timedelta(minutes=30)


class BeatNotKnown(Refusal):
    """Which beat a text means cannot be told."""

    code = "beat-not-known"
    title = say("Beat not known")


@transaction.atomic
def start_by_text(guest: Guest, *, now: dt.datetime) -> Outing:
    """The guest goes on the water now: their plan begins, or a new outing, alone, back by dusk at the latest.

    The outing takes the guest's standing code, so that OFF with the same code ends it. Raises AlreadyOut,
    BeatNotKnown.
    """
    out = Outing.objects.filter(guest=guest, checked_out_at__isnull=True).select_related("beat__fishery").first()
    if out is not None and not out.unconfirmed:
        raise AlreadyOut(say("{guest_name} is already on the water.", guest_name=guest.name))
    outing = out or _begun(guest, now) or _new(guest, now)
    outing = locked(Outing.objects.select_related("guest", "beat__fishery", "pool"), pk=outing.pk)
    outing.unconfirmed, outing.heard_at, outing.code = False, now, standing_code(guest.pk)
    outing.save(update_fields=["unconfirmed", "heard_at", "code"])
    facts = {"guest": guest.pk, "beat": outing.beat.slug, "alone": outing.alone, "by": "text",
             "due_back_at": outing.due_back_at}  # fmt: skip
    record("check in", outing, by=None, now=now, fishery=outing.beat.fishery, after=facts)
    return outing


def _begun(guest: Guest, now: dt.datetime) -> Outing | None:
    """The outing of the next plan, begun now."""
    plans = Plan.objects.filter(
        guest=guest, called_off_at__isnull=True, outing__isnull=True, out_at__lte=now + PLAN_AHEAD,
        due_back_at__gt=now,
    )  # fmt: skip
    plan = plans.order_by("out_at").first()
    if plan is None:
        return None
    if plan.out_at > now:
        Plan.objects.filter(pk=plan.pk, outing__isnull=True).update(out_at=now)
    begin(plan.pk, now=now)
    return Outing.objects.filter(guest=guest, checked_out_at__isnull=True).first()


def _new(guest: Guest, now: dt.datetime) -> Outing:
    beat = _beat(guest, now)
    policy = policy_of(beat)
    due = now + dt.timedelta(minutes=policy.longest_minutes)
    dark = conditions(beat, day=None, now=now).light.off_water_by_at
    if dark is not None and now + SHORTEST <= dark < due:
        due = dark.replace(second=0, microsecond=0)
    set_for = Deadline(due, due + dt.timedelta(minutes=policy.lone_grace_minutes))
    facts = {"pool": None, "alone": True, "plan": ""}
    return go_out(guest, beat, facts, set_for, checked_in_at=now, now=now, columns={})


def _beat(guest: Guest, now: dt.datetime) -> Beat:
    """Where they have a rod today; else the fishery's only beat."""
    today = local_day(guest.fishery, now)
    rods = RodDay.objects.filter(day=today)
    own = (rods.filter(guest=guest) | rods.filter(sharer=guest)).values("beat")
    beats = Beat.objects.select_related("fishery", "gauge")
    found = list(beats.filter(pk__in=own)[:2]) or list(beats.filter(fishery=guest.fishery_id)[:2])
    if len(found) != 1:
        raise BeatNotKnown(
            say(
                "You are NOT checked in: which beat you are on is not known. "
                "Check in by page, or ring the fishery."
            )
        )
    return found[0]


def due_words(outing: Outing) -> str:
    """The time back, local to the river."""
    return f"{outing.due_back_at.astimezone(zone_of(outing.beat.fishery)):%H:%M}"
