"""What an angler is told at check-in: what the watch cannot do, the promise, and the water's cautions."""

import datetime as dt

from beats.conditions import conditions
from beats.emergency import in_danger
from beats.queries import zone_of
from beats.shared.phrases import say
from beats.water.told import Conditions
from sessions.guards import GoingOut, explained, limits_of, told_by_all
from sessions.models import Outing
from sessions.turn_warnings import do_not_fish
from sessions.waders import who_wades
from sessions.watch_limits import alarm_is_promised

GRAVE_STEPS = 2
"""Wading cautions that raise the verdict by so many steps are shown at check-in."""


def told_at_check_in(outing: Outing, *, now: dt.datetime) -> list[str]:
    """Sentences for the screen, the promise first. Times are local to the river."""
    zone = zone_of(outing.beat.fishery)
    due, alarm = (at.astimezone(zone) for at in (outing.due_back_at, outing.alarm_at))
    known = conditions(outing.beat, day=None, now=now, who=who_wades(outing.guest, alone=outing.alone))
    last_light = known.light.last_light_at
    limits = limits_of(GoingOut(outing.guest, outing.beat, outing.alone, now))
    told = [
        *explained(outing, now),
        say(
            "Back by {due:%H:%M on %A}. If nothing is heard by {alarm:%H:%M}, the keepers are told.",
            due=due,
            alarm=alarm,
        )
        if alarm_is_promised(limits)
        else say("Back by {due:%H:%M on %A}.", due=due),
        say("This is not an emergency service. {in_danger}", in_danger=in_danger(tidal=outing.beat.tidal)),
    ]
    if last_light and outing.due_back_at > last_light:
        told.append(
            say(
                "It is dark from {last_light:%H:%M}: before you are due back.",
                last_light=last_light.astimezone(zone),
            )
        )
    if outing.beat.mobile_signal:
        told.append(say("Telephone signal: {beat_mobile_signal}.", beat_mobile_signal=outing.beat.mobile_signal))
    told += do_not_fish(outing, now=now, until=outing.due_back_at)
    water = (caution.sentence for caution in known.cautions)
    return [*told, *told_by_all(outing, now), *water, *_wading(outing, known)]


def _wading(outing: Outing, known: Conditions) -> list[str]:
    """What is grave about wading the pool they named, today and for them."""
    pool = next((each for each in known.pools if each.id == outing.pool_id), None)
    return [caution.sentence for caution in pool.wading.cautions if caution.steps >= GRAVE_STEPS] if pool else []
