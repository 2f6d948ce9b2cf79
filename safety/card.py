"""The emergency card: what the person who rings 999 is asked, ready to be read out.

The fields are those the services ask for: Natural Resources Wales, "Report emergencies in the Dee
estuary" (caller, position, what happened, how many, any missing and their description, main concern,
contact). Text 999 and its two minutes: the emergencySMS pages of the relay service and of
Buckinghamshire Fire and Rescue. Which service to ask for: `beats.emergency`.
"""

import datetime as dt
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from beats.emergency import NOT_AN_EMERGENCY_SERVICE, ask_for
from beats.shared import words
from beats.shared.phrases import say

UNKNOWN = "not known: ask, or say so"
TEXT_999 = say(
    "No voice signal: text 999, if this telephone was registered before (text 'register' to 999 now takes a "
    "minute). "
    "Write which service, what happened, where. A reply comes in about two minutes; none in three: send it again. "
    "A delivery report is no reply."
)


@dataclass(frozen=True)
class Facts:
    """What is known. Texts may be empty; instants are aware."""

    name: str
    phone: str
    river: str
    fishery: str
    beat: str
    pool: str
    bank: str
    access: str
    meeting_point: str
    latitude: float | None
    longitude: float | None
    grid: str | None
    tidal: bool
    party: int
    alone: bool
    what_happened: str
    plan: str
    vehicle: str
    wearing: str
    contact: str
    meeting: str
    checked_in_at: dt.datetime
    heard_at: dt.datetime
    due_back_at: dt.datetime
    level_then: str
    level_now: str
    light_then: str
    light_now: str
    zone: ZoneInfo


def lines(facts: Facts, *, now: dt.datetime) -> list[tuple[str, str]]:
    """The card as (field, text); no field is left out, so that what is not known is asked for."""
    local = facts.zone
    return [
        ("Ring", f"999 or 112 and ask for {ask_for(tidal=facts.tidal)}"
                 + (" (the tide reaches this beat)." if facts.tidal else ".")),
        ("No voice", TEXT_999),
        ("Who", _known(facts.name)),
        ("Their telephone", _known(facts.phone)),
        ("How many", "1, alone" if facts.alone else f"{facts.party} in the party"),
        ("Where", _joined(f"River {facts.river}", facts.fishery, facts.beat, facts.pool, facts.bank)),
        ("Grid reference", _known(facts.grid or "")),
        ("Latitude, longitude", _position(facts)),
        ("Way in", _known(facts.access or facts.meeting_point)),
        ("What happened", _known(facts.what_happened)),
        ("Last seen or heard", _ago(facts.heard_at, now, local)),
        ("On the water since", words.instant(facts.checked_in_at.astimezone(local))),
        ("Due off the water", _ago(facts.due_back_at, now, local)),
        ("Plan", _known(facts.plan)),
        ("Level at check-in", facts.level_then),
        ("Level now", facts.level_now),
        ("Light at check-in", facts.light_then),
        ("Light now", facts.light_now),
        ("Vehicle", _known(facts.vehicle)),
        ("Wearing, life jacket, wading staff", _known(facts.wearing)),
        ("Their emergency contact", _known(facts.contact)),
        ("Who expects them, and when", _known(facts.meeting)),
        ("Written", words.instant(now.astimezone(local))),
    ]  # fmt: skip


def text(facts: Facts, *, now: dt.datetime) -> str:
    """The card as it is printed below the last stage's message."""
    rows = "\n".join(f"{field}: {told}" for field, told in lines(facts, now=now))
    return (
        f"EMERGENCY CARD\n{rows}\n{NOT_AN_EMERGENCY_SERVICE} It has rung nobody. Do not go into the water "
        f"after them."
    )


def _position(facts: Facts) -> str:
    if facts.latitude is None or facts.longitude is None:
        return "not recorded: tell them the beat and the way in"
    return f"{facts.latitude:.5f}, {facts.longitude:.5f}"


def _ago(at: dt.datetime, now: dt.datetime, zone: ZoneInfo) -> str:
    minutes = int((now - at).total_seconds() // 60)
    since = f"{words.minutes(minutes)} ago" if minutes >= 0 else f"in {words.minutes(-minutes)}"
    return f"{words.instant(at.astimezone(zone))} ({since})"


def _known(told: str) -> str:
    return told or UNKNOWN


def _joined(*texts: str) -> str:
    return ", ".join(each for each in texts if each)
