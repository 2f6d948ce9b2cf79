"""What the watch cannot do for an angler, stated to the angler. Pure: times are local to the river."""

import datetime as dt
from collections.abc import Collection
from dataclasses import dataclass

from beats.shared.phrases import say
from sessions.watch_limits import WatchLimit, alarm_is_promised


@dataclass(frozen=True)
class Case:
    """One angler at one fishery. `phone` is the fishery's, `keepers` whether it has any; texts may be empty."""

    fishery: str
    phone: str
    keepers: bool
    alone: bool
    witness: bool
    alarm_at: dt.datetime | None = None
    meeting_person: str = ""
    meeting_at: dt.datetime | None = None
    ask: bool = True


def sentences(limits: Collection[WatchLimit], case: Case) -> list[str]:
    """What is to be stated first at check-in and on the angler's page, the gravest first."""
    told: list[str] = []
    if WatchLimit.NOT_RUNNING in limits:
        told += _not_running(case)
    if WatchLimit.NO_NUMBER in limits:
        told.append(_no_number(limits, case))
    if WatchLimit.NO_KEEPER in limits:
        told.append(_no_keeper(case))
    if WatchLimit.OWN_CONTACT in limits:
        told.append(say("Your emergency contact has your own number or address, which cannot answer for you."))
    if WatchLimit.NO_CONTACT in limits:
        told.append(say("No emergency contact is known for you, so nobody outside the fishery is asked."))
    if {WatchLimit.NOT_RUNNING, WatchLimit.NO_NUMBER, WatchLimit.NO_KEEPER} & set(limits):
        told += _expected(case)
    return told


ASK_MEETING = say("Say who expects you off the water, and when.")


def meeting(person: str, at: dt.datetime | None) -> str:
    """Who expects the angler; empty where nothing is known. `at` in the river's zone."""
    if person and at:
        return say("{person} expects them off the water at {at:%H:%M}", person=person, at=at)
    if at:
        return say("Expected off the water at {at:%H:%M}", at=at)
    return say("{person} expects them off the water", person=person) if person else ""


def _expected(case: Case) -> list[str]:
    """What the angler said of it, or the question; nothing where a form asks it."""
    person, at = case.meeting_person, case.meeting_at
    if person and at:
        return [say("You said that {person} expects you at {at:%H:%M}.", person=person, at=at)]
    if at:
        return [say("You said that you are expected at {at:%H:%M}.", at=at)]
    if person:
        return [say("You said that {person} expects you.", person=person)]
    return [ASK_MEETING] if case.ask else []


def _not_running(case: Case) -> list[str]:
    told: list[str] = [
        say(
            "The watch is not running: no alarm will be raised until it runs. Ring {fishery} on {phone} now, and "
            "again when you are off the water.",
            fishery=case.fishery, phone=case.phone,
        )
        if case.phone
        else say(
            "The watch is not running: no alarm will be raised until it runs. Tell somebody on the bank when you "
            "are due, and when to ring 999."
        )
    ]  # fmt: skip
    if case.alone:
        told.append(
            say("Ask a keeper to watch for you until it runs, or go in company.")
            if case.witness
            else say("Do not fish alone until it runs: stay off the water, or go in company.")
        )
    return told


def _no_number(limits: Collection[WatchLimit], case: Case) -> str:
    if case.alarm_at is None or not alarm_is_promised(limits):
        return say("Nobody can ring you: no telephone number is known for you.")
    return say(
        "Nobody can ring you: no telephone number is known for you. You are watched by time only: if you are not "
        "checked out by {at:%H:%M}, the keepers are told to look for you.",
        at=case.alarm_at,
    )


def _no_keeper(case: Case) -> str:
    if case.keepers:
        return say(
            "Nobody is on duty at {fishery} now. All its keepers are sent a message that you are out; it may take "
            "longer until somebody looks for you.",
            fishery=case.fishery,
        )
    return say(
        "{fishery} has no keepers here, so nobody will be told if you do not come back. Tell somebody on the bank "
        "when to ring 999.",
        fishery=case.fishery,
    )
