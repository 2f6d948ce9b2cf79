"""What an angler is told at check-in: the promise, its limits, and the water's cautions."""

import datetime as dt

from beats.conditions import conditions
from beats.emergency import in_danger
from beats.queries import zone_of
from beats.shared.phrases import say
from sessions.guards import told_by_all
from sessions.models import Outing


def told_at_check_in(outing: Outing, *, now: dt.datetime) -> list[str]:
    """Sentences for the screen, the promise first. Times are local to the river."""
    zone = zone_of(outing.beat.fishery)
    due, alarm = (at.astimezone(zone) for at in (outing.due_back_at, outing.alarm_at))
    known = conditions(outing.beat, day=None, now=now)
    last_light = known.light.last_light_at
    told = [
        say(
            "Off the water by {due:%H:%M on %A}. If nothing is heard by {alarm:%H:%M}, the keepers are told.",
            due=due,
            alarm=alarm,
        ),
        say("This is not an emergency service. {in_danger}", in_danger=in_danger(tidal=outing.beat.tidal)),
    ]
    if last_light and outing.due_back_at > last_light:
        told.append(
            say(
                "It is dark from {last_light:%H:%M}: before you are due off the water.",
                last_light=last_light.astimezone(zone),
            )
        )
    if outing.beat.mobile_signal:
        told.append(say("Telephone signal: {beat_mobile_signal}.", beat_mobile_signal=outing.beat.mobile_signal))
    return [*told, *told_by_all(outing, now), *(caution.sentence for caution in known.cautions)]
