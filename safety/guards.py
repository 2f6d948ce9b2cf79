"""What the watch says before somebody goes out alone, and what it promises when they do."""

import datetime as dt
from collections.abc import Iterable, Mapping
from typing import Any

from beats.models import Membership
from beats.objections import policy_reader
from beats.queries import role_in, zone_of
from beats.shared.phrases import say
from beats.shared.refusals import Refusal
from safety import levels, policy
from safety.ladder import BadLadder
from safety.policy import REFUSE
from safety.queries import sweep_fault, warnings_in_force
from safety.services.people import Crew
from sessions.guards import GoingOut, guard, teller
from sessions.models import Outing


class NotWatched(Refusal):
    """Nobody would notice if a lone angler did not come back."""

    code = "not-watched"
    title = say("Not alone today")


@guard
def somebody_watches(going: GoingOut) -> None:
    """A lone angler goes out only if the watch runs, a keeper is on duty and the contact is somebody else.

    With the watch stale a keeper may check them in as witness, where the beat's policy says so.
    """
    if not going.alone:
        return
    crew, fishery = Crew(going.now), going.beat.fishery
    if not crew.on_duty(fishery):
        raise NotWatched(
            say(
                "Nobody is on duty at {fishery_name}, so nobody would come and look. Go in company, "
                "or ring the fishery first.",
                fishery_name=fishery.name,
            )
        )
    contact = going.guest.emergency_contact_phone
    if contact and contact == going.guest.phone:
        raise NotWatched(
            say(
                "Your emergency contact has your own number, which cannot answer for you. Give "
                "another person's, or go in company."
            )
        )
    fault, _ = sweep_fault(now=going.now)
    if not fault:
        return
    rules = crew.policy(going.beat)
    if rules.when_stale == REFUSE:
        raise NotWatched(
            say(
                "{fault} Do not go on the water alone: go in company, or come back when the watch runs.",
                fault=fault,
            )
        )
    if role_in(going.by, fishery) not in Membership.KEEPERS or going.by.pk == going.guest.user_id:
        raise NotWatched(
            say(
                "{fault} Until it runs, a keeper must check you in and watch for you. Ring the fishery.",
                fault=fault,
            )
        )


@teller
def what_happens(outing: Outing, now: dt.datetime) -> Iterable[str]:
    """A stale watch, public warnings, the ladder in plain words, and the contact times."""
    fault, _ = sweep_fault(now=now)
    if fault:
        yield fault
    yield from (levels.sentence(*each) for each in warnings_in_force(outing.beat.fishery, now=now))
    zone = zone_of(outing.beat.fishery)
    yield from Crew(now).promise(outing.beat, alarm_at=outing.alarm_at, alone=outing.alone)
    if outing.well_by:
        yield (
            f"You are alone: say that all is well by {outing.well_by.astimezone(zone):%H:%M}, and "
            f"again after that. "
            "If you do not, you are asked, and ten minutes later the others are told."
        )
    if outing.code:
        yield say("By text: OUT {code} when you are out, LATE 30 {code} for more time, or HELP.", code=outing.code)


@policy_reader
def fault_of(rules: Mapping[str, Any]) -> str:
    """What is wrong with a policy that a fishery file gives; empty when nothing is."""
    try:
        policy.read(rules)
    except BadLadder as refusal:
        return refusal.sentence
    return ""
