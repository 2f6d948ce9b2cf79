"""The board: who is on the water, in words, and who needs looking for first. Pure."""

import datetime as dt
from dataclasses import dataclass

from beats.shared import words


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


CRIES = {"help": "ASKS FOR HELP", "contact": "missed a contact", "recall": "does not answer a recall"}
"""What an alarm is about; any other is of somebody overdue."""


def headline(rod: Rod, *, now: dt.datetime, zone: dt.tzinfo) -> str:
    """Who, and the one thing to know first, in a few words."""
    what = CRIES.get(rod.kind, "OVERDUE") if rod.stage >= 0 else "due"
    if rod.stage < 0 and now >= rod.due_back_at:
        what = "LATE, due"
    when = "" if rod.kind in CRIES and rod.stage >= 0 else f" {rod.due_back_at.astimezone(zone):%H:%M}"
    return f"{rod.name}: {what}{when}{', ALONE' if rod.alone else ''}"


def sentence(rod: Rod, *, now: dt.datetime, zone: dt.tzinfo) -> str:
    """One line for a telephone or the wall of the hut."""
    company = "ALONE" if rod.alone else "in company"
    parts = [f"{rod.name}, {company}, {rod.where}, {_due(rod, now, zone)}"]
    if rod.unconfirmed:
        parts.append("went by plan: no check-in has come")
    if rod.stage >= 0:
        parts.append(_alarm(rod, now, zone))
    if rod.recalled:
        parts.append("coming out" if rod.recall_answered else "CALLED OFF THE WATER, no answer yet")
    parts.append(f"last heard {words.minutes(max(int((now - rod.heard_at).total_seconds() // 60), 0))} ago")
    return "; ".join(parts) + "."


def _due(rod: Rod, now: dt.datetime, zone: dt.tzinfo) -> str:
    due = f"{rod.due_back_at.astimezone(zone):%H:%M}"
    late = int((now - rod.due_back_at).total_seconds() // 60)
    return f"due back {due}" if late < 0 else f"DUE BACK {due}, {words.minutes(late)} ago"


def _alarm(rod: Rod, now: dt.datetime, zone: dt.tzinfo) -> str:
    said = f"{CRIES.get(rod.kind, 'OVERDUE')}, stage {rod.stage}"
    if rod.answered_until is None:
        return f"{said}, NOBODY HAS ANSWERED"
    until = f"{rod.answered_until.astimezone(zone):%H:%M}"
    kept = "answers until" if rod.answered_until > now else "promised word by"
    return f"{said}, {rod.answered_by} {kept} {until}"
