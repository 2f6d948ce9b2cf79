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
    danger = say("This is not an emergency service. {in_danger}", in_danger=in_danger(tidal=outing.beat.tidal))
    if outing.checked_out_at is not None:
        return [_over(outing.checked_out_at.astimezone(zone)), danger]
    known = conditions(outing.beat, day=None, now=now)
    last_light = known.light.last_light_at
    told = [*_how_it_stands(outing, due, alarm, zone, now=now), danger]
    if last_light and outing.due_back_at > last_light:
        told.append(
            say(
                "It is dark from {last_light:%H:%M}: before you are due back.",
                last_light=last_light.astimezone(zone),
            )
        )
    if outing.beat.mobile_signal:
        told.append(say("Telephone signal: {beat_mobile_signal}.", beat_mobile_signal=outing.beat.mobile_signal))
    return [*told, *told_by_all(outing, now), *(caution.sentence for caution in known.cautions)]


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
    told = list(getattr(outing, "cautions", ()))
    if getattr(outing, "was_there", False):
        told.append(
            say(
                "You were already on the water since {since:%H:%M}. That outing goes on.",
                since=outing.checked_in_at.astimezone(zone),
            )
        )
    if outing.alarm_at <= now:
        passed = say(
            "You were due back at {due:%H:%M on %A}. That has passed, so the keepers are told now. If you are off "
            "the water, check out.",
            due=due,
        )
        return [passed, *told]
    promise = say(
        "Back by {due:%H:%M on %A}. If nothing is heard by {alarm:%H:%M}, the keepers are told.",
        due=due,
        alarm=alarm,
    )
    return [promise, *told]
