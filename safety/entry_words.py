"""Who entered a check-in, a new return time or a check-out, in words. Pure."""

import datetime as dt
from dataclasses import dataclass

from beats.shared.phrases import say

VIA = {
    "telephone": say("by telephone"),
    "text": say("by text message"),
    "radio": say("by radio"),
    "in_person": say("in person"),
}
DONE = {
    "check_in": say("checked in"),
    "more_time": say("given more time"),
    "check_out": say("checked out"),
    "undo": say("put back on the water"),
}


@dataclass(frozen=True)
class Entry:
    """`act` and `reported_via` as stored; `by` is empty for a text message; `at` is aware."""

    act: str
    by: str
    by_angler: bool
    reported_by: str
    reported_via: str
    at: dt.datetime


def entered(entry: Entry, *, zone: dt.tzinfo) -> str:
    """Such as "checked out by Morag at 14:05, who was told by Ian by telephone"."""
    facts = {"done": DONE[entry.act], "by": entry.by, "at": entry.at.astimezone(zone)}
    if entry.by_angler:
        return say("{done} by themselves at {at:%H:%M}", **facts)
    if not entry.by:
        return say("{done} by a text message at {at:%H:%M}", **facts)
    if not entry.reported_by:
        return say("{done} by {by} at {at:%H:%M}", **facts)
    told = {"told_by": entry.reported_by, "via": VIA[entry.reported_via]}
    return say("{done} by {by} at {at:%H:%M}, who was told by {told_by} {via}", **facts, **told)


def off_the_water(name: str, left_at: dt.datetime, entry: Entry, *, zone: dt.tzinfo) -> str:
    """One line of the list of those who have left the water."""
    return say(
        "{name}: off the water since {at:%H:%M}; {entered}.",
        name=name, at=left_at.astimezone(zone), entered=entered(entry, zone=zone),
    )  # fmt: skip
