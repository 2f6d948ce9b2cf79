"""The board: who is on the water, in words, and who needs looking for first. Pure."""

import datetime as dt
from dataclasses import dataclass

from beats.shared import words
from beats.shared.phrases import joined, say


@dataclass(frozen=True)
class Rod:
    """One angler on the water, as the board knows them. `stage` is of their newest open alarm, -1 for none."""

    outing: int
    name: str
    phone: str
    where: str
    alone: bool
    unconfirmed: bool
    due_back_at: dt.datetime
    alarm_at: dt.datetime
    heard_at: dt.datetime
    kind: str
    stage: int
    answered_by: str
    answered_until: dt.datetime | None
    recalled: bool
    recall_answered: bool
    off_at: dt.datetime | None = None
    """When they were checked out; still listed, since a call for help made after it is open."""
    time_only: bool = False
    meeting: str = ""
    entered: str = ""


def need(rod: Rod, now: dt.datetime) -> tuple[int, int, dt.datetime, int]:
    """The order to look for people in; the smallest first: help, silent alarms, answered ones, then by time."""
    held = rod.answered_until is not None and rod.answered_until > now
    if rod.stage >= 0:
        grade = 0 if rod.kind == "help" and not held else 2 if held else 1
    elif now >= rod.alarm_at:
        grade = 1
    elif rod.recalled and not rod.recall_answered:
        grade = 3
    elif now >= rod.due_back_at:
        grade = 4
    else:
        grade = 5
    return grade, 0 if rod.alone else 1, rod.alarm_at, rod.outing


def ordered(rods: list[Rod], now: dt.datetime) -> list[Rod]:
    return sorted(rods, key=lambda rod: need(rod, now))


CRIES = {
    "help": say("ASKS FOR HELP"), "contact": say("missed a contact"), "recall": say("does not answer a recall"),
}  # fmt: skip
OVERDUE = say("OVERDUE")
"""What an alarm is about; any other is of somebody overdue."""


def headline(rod: Rod, *, now: dt.datetime, zone: dt.tzinfo) -> str:
    """Who, and the one thing to know first, in a few words."""
    due = rod.due_back_at.astimezone(zone)
    told = [say("{name}: {what}", name=rod.name, what=_first_of_all(rod, due, late=now >= rod.due_back_at))]
    if rod.alone:
        told.append(say("ALONE"))
    return joined(told, ", ")


def _first_of_all(rod: Rod, due: dt.datetime, *, late: bool) -> str:
    if rod.stage >= 0 and rod.kind in CRIES:
        return CRIES[rod.kind]
    if rod.stage >= 0:
        return say("OVERDUE {due:%H:%M}", due=due)
    return say("LATE, due {due:%H:%M}", due=due) if late else say("due {due:%H:%M}", due=due)


def sentence(rod: Rod, *, now: dt.datetime, zone: dt.tzinfo) -> str:
    """One line for a telephone or the wall of the hut."""
    company = say("ALONE") if rod.alone else say("in company")
    parts: list[str] = [joined((rod.name, company, rod.where, _due(rod, now, zone)), ", ")]
    if rod.entered:
        parts.append(rod.entered)
    if rod.unconfirmed:
        parts.append(say("went by plan: no check-in has come"))
    if rod.off_at is not None:
        parts.append(
            say("checked out at {off:%H:%M}, and asked for help after that", off=rod.off_at.astimezone(zone))
        )
    if rod.time_only:
        parts.append(say("watched by time only: no number to ring"))
    if rod.meeting:
        parts.append(rod.meeting)
    if rod.stage >= 0:
        parts.append(_alarm(rod, now, zone))
    if rod.recalled:
        silent = say("CALLED OFF THE WATER, no answer yet")
        parts.append(say("coming off the water") if rod.recall_answered else silent)
    ago = words.minutes(max(int((now - rod.heard_at).total_seconds() // 60), 0))
    parts.append(say("last heard {age} ago.", age=ago))
    return joined(parts, "; ")


def _due(rod: Rod, now: dt.datetime, zone: dt.tzinfo) -> str:
    due = f"{rod.due_back_at.astimezone(zone):%H:%M}"
    late = int((now - rod.due_back_at).total_seconds() // 60)
    if late < 0:
        return say("due off the water {due}", due=due)
    return say("DUE OFF THE WATER {due}, {age} ago", due=due, age=words.minutes(late))


def _alarm(rod: Rod, now: dt.datetime, zone: dt.tzinfo) -> str:
    facts = {"what": CRIES.get(rod.kind, OVERDUE), "stage": rod.stage}
    if rod.answered_until is None:
        return say("{what}, stage {stage}, NOBODY HAS ANSWERED", **facts)
    facts |= {"who": rod.answered_by, "until": rod.answered_until.astimezone(zone)}
    if rod.answered_until > now:
        return say("{what}, stage {stage}, {who} answers until {until:%H:%M}", **facts)
    return say("{what}, stage {stage}, {who} answered, but their time ran out at {until:%H:%M}", **facts)
