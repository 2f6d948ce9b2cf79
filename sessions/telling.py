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
    danger = say("This is not an emergency service. {in_danger}", in_danger=in_danger(tidal=outing.beat.tidal))
    if outing.checked_out_at is not None:
        return [_over(outing.checked_out_at.astimezone(zone)), danger]
    known = conditions(outing.beat, day=None, now=now, who=who_wades(outing.guest, alone=outing.alone))
    last_light = known.light.last_light_at
    told = [*explained(outing, now), *_how_it_stands(outing, due, alarm, zone, now=now), danger]
    if last_light and outing.due_back_at > last_light:
        told.append(
            say(
                "It is dark from {last_light:%H:%M}: before you are due off the water.",
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


def _over(out_at: dt.datetime) -> str:
    return say(
        "This outing is over: you were off the water at {out_at:%H:%M on %A}. Nobody is watching for you. "
        "Check in again if you are on the water.",
        out_at=out_at,
    )


def _how_it_stands(
    outing: Outing, due: dt.datetime, alarm: dt.datetime, zone: dt.tzinfo, *, now: dt.datetime
) -> list[str]:
    """When they are due back and what follows; a check-in that had to wait for signal may be overdue already."""
    told = []
    if getattr(outing, "was_there", False):
        told.append(
            say(
                "You were already on the water since {since:%H:%M}. That outing goes on.",
                since=outing.checked_in_at.astimezone(zone),
            )
        )
    promised = alarm_is_promised(limits_of(GoingOut(outing.guest, outing.beat, outing.alone, now)))
    if outing.alarm_at <= now:
        return [_passed(due, promised=promised), *told]
    promise = say(
        "Off the water by {due:%H:%M on %A}. If nothing is heard by {alarm:%H:%M}, the keepers are told.",
        due=due,
        alarm=alarm,
    )
    return [promise if promised else say("Off the water by {due:%H:%M on %A}.", due=due), *told]


def _passed(due: dt.datetime, *, promised: bool) -> str:
    """The keepers are told at once only where the watch runs and somebody is on duty."""
    if not promised:
        return say(
            "You were due off the water at {due:%H:%M on %A}. That has passed. If you are off it, check out.",
            due=due,
        )
    return say(
        "You were due off the water at {due:%H:%M on %A}. That has passed, so the keepers are told now. If you "
        "are off it, check out.",
        due=due,
    )
