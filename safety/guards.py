"""What the watch cannot do for an angler, and what it promises, as told at check-in."""

import datetime as dt
from collections.abc import Iterable, Mapping
from typing import Any

from beats.objections import policy_reader
from beats.queries import zone_of
from beats.shared.phrases import say
from safety import levels, policy
from safety.ladder import BadLadder
from safety.queries import sweep_fault, warnings_in_force
from safety.services.channels_available import text_number
from safety.services.check_in_notices import notify_keepers
from safety.services.limits_told import limits_told
from safety.services.people import Crew
from sessions.guards import GoingOut, explainer, limiter, on_check_in, teller
from sessions.models import Outing
from sessions.watch_limits import WatchLimit


@limiter
def watch_limits(going: GoingOut) -> Iterable[WatchLimit]:
    """Whether the watch runs, a keeper is on duty, and the angler and a contact can be reached."""
    guest = going.guest
    if not going.by_watch and sweep_fault(now=going.now)[0]:
        yield WatchLimit.NOT_RUNNING
    if not Crew(going.now).on_duty(going.beat.fishery):
        yield WatchLimit.NO_KEEPER
    if not guest.phone:
        yield WatchLimit.NO_NUMBER
    if guest.contact_is_self:
        yield WatchLimit.OWN_CONTACT
    elif not guest.emergency_contact_phone and not guest.emergency_contact_email:
        yield WatchLimit.NO_CONTACT


@explainer
def what_is_limited(outing: Outing, now: dt.datetime) -> Iterable[str]:
    """The limits as they are now, in sentences."""
    return limits_told(outing.guest, outing.beat, alone=outing.alone, now=now, outing=outing)


on_check_in(notify_keepers)


@teller
def what_happens(outing: Outing, now: dt.datetime) -> Iterable[str]:
    """A stale watch, public warnings, the ladder in plain words, the contact times, and how to text."""
    fault, _ = sweep_fault(now=now)
    if fault:
        yield fault
    yield from (levels.sentence(*each) for each in warnings_in_force(outing.beat.fishery, now=now))
    if not fault:
        yield from _promise(outing, now)
    if outing.code and (number := text_number(outing.guest)):
        yield say(
            "By text to {number}: OFF {code} when you are off the water, LATE 30 {code} for more time, or HELP.",
            number=number, code=outing.code,
        )  # fmt: skip


def _promise(outing: Outing, now: dt.datetime) -> Iterable[str]:
    zone = zone_of(outing.beat.fishery)
    yield from Crew(now).promise(outing.beat, alarm_at=outing.alarm_at, alone=outing.alone, guest=outing.guest)
    if outing.well_by:
        yield (
            f"You are alone: say that all is well by {outing.well_by.astimezone(zone):%H:%M}, and "
            f"again after that. "
            "If you do not, you are asked, and ten minutes later the others are told."
        )


@policy_reader
def fault_of(rules: Mapping[str, Any]) -> str:
    """What is wrong with a policy that a fishery file gives; empty when nothing is."""
    try:
        policy.read(rules)
    except BadLadder as refusal:
        return refusal.sentence
    return ""
