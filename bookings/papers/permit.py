"""The confirmation of a let, which is also the written permission to fish.

Whoever fishes for salmon without a right to it, or written permission from somebody who has, commits
an offence: Salmon and Freshwater Fisheries (Consolidation) (Scotland) Act 2003, section 6.
"""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import groupby

from beats.emergency import NOT_AN_EMERGENCY_SERVICE, in_danger
from beats.phones import spaced
from beats.season import Ruling
from beats.shared import words
from bookings.papers.parts import Section, one_line

ACT = "Salmon and Freshwater Fisheries (Consolidation) (Scotland) Act 2003, section 6"
NO_LAWYER = "This is the law as Rodtally holds it, not legal advice. Local notices and the bailiff come first."
CANNOT_SEE = (
    "The river can rise without warning and nothing here sees its bed, its speed or you. Look for yourself, "
    "wear a lifejacket where you wade, and ask the ghillie."
)


@dataclass(frozen=True)
class RodOnDay:
    """Who fishes one rod on one day; an empty name is a rod not named yet."""

    day: dt.date
    rod: int
    name: str
    sharer: str = ""


@dataclass(frozen=True)
class Contact:
    name: str
    role: str
    phone: str


@dataclass(frozen=True)
class Permit:
    """What one person may read of one let. `law` has a ruling for each day; `check_in` is an address."""

    let: int
    edition: int
    fishery: str
    river: str
    beat: str
    booker: str
    rods: tuple[RodOnDay, ...]
    law: tuple[Ruling, ...]
    water_rules: str
    meeting_point: str
    mobile_signal: str
    tidal: bool
    longest_outing_minutes: int
    contacts: tuple[Contact, ...]
    check_in: str
    contact_details: str
    printed_on: dt.date
    only_for: str = ""
    text_to: str = ""
    """Where check-ins by text message go; empty: nowhere."""
    text_code: str = ""
    """The code of the one it is for; on a paper for several each has their own."""

    @property
    def title(self) -> str:
        return f"Permission to fish: {one_line(self.beat)}, {one_line(self.fishery)}"

    @property
    def subject(self) -> str:
        return f"{self.title}, {span(rod.day for rod in self.rods)}"


def span(days: Iterable[dt.date]) -> str:
    """4 May 2026, or 4 May 2026 to 9 May 2026."""
    known = sorted(set(days))
    if not known:
        return "no day left"
    first, last = known[0], known[-1]
    return words.day(first) if first == last else f"{words.day(first)} to {words.day(last)}"


def sections(permit: Permit) -> list[Section]:
    """The whole paper, in the order in which it matters at the water."""
    return [
        Section("Permission", _permission(permit)),
        Section("Who fishes", table=_who(permit), wide=2),
        Section("How the days stand in law", (*_law(permit.law), NO_LAWYER)),
        Section("Rules of the water", _rules(permit)),
        Section("Where to meet, and checking in", _arriving(permit)),
        Section("In an emergency", _emergency(permit)),
    ]


def _permission(permit: Permit) -> tuple[str, ...]:
    whom = permit.only_for or permit.booker
    return (
        (
            f"{one_line(permit.fishery)} gives {one_line(whom)} and those named below its written permission to "
            f"fish for salmon and sea trout with rod and line on {one_line(permit.beat)}, "
            f"{one_line(permit.river)}, on the days below and on no others."
        ),
        (
            f"It is the written permission that the {ACT}, asks for. Carry it, on paper or on your phone, and "
            "show it to a bailiff who asks."
        ),
        (
            f"Let {permit.let}, edition {permit.edition}, written on {words.day(permit.printed_on)}. A later "
            "edition takes its place."
        ),
    )


def _who(permit: Permit) -> tuple[tuple[str, ...], ...]:
    rows = [("Day", "Rod", "Who")]
    for rod in sorted(permit.rods, key=lambda one: (one.day, one.rod)):
        name = one_line(rod.name) or "to be named before the day"
        shared = f", sharing with {one_line(rod.sharer)}" if rod.sharer else ""
        rows.append((f"{words.weekday(rod.day)} {rod.day.year}", f"rod {rod.rod}", name + shared))
    return tuple(rows)


def _law(rulings: Iterable[Ruling]) -> tuple[str, ...]:
    """Days that stand alike are told together; every reason, every doubt."""
    told = []
    for texts, group in groupby(rulings, key=_texts):
        told.append(f"{span(ruling.day for ruling in group)}: {' '.join(texts)}")
    return tuple(told)


def _texts(ruling: Ruling) -> tuple[str, ...]:
    return (*(f"{reason.text} ({reason.source})" for reason in ruling.reasons), *ruling.cautions)


def _rules(permit: Permit) -> tuple[str, ...]:
    own = tuple(line.strip() for line in permit.water_rules.splitlines() if line.strip())
    return (*(own or ("The owner has written none down. Ask the ghillie.",)), CANNOT_SEE)


def _arriving(permit: Permit) -> tuple[str, ...]:
    hours, minutes = divmod(permit.longest_outing_minutes, 60)
    told = [f"Meet at: {one_line(permit.meeting_point)}."] if permit.meeting_point else []
    if permit.mobile_signal:
        told.append(f"Mobile signal: {one_line(permit.mobile_signal)}")
    told.append(
        f"Before you fish, check in and say when you will be off the water, at most {hours} h"
        f"{f' {minutes} min' if minutes else ''} later; check out when you are off the water. If you are not back "
        "by then, the keepers are told."
    )
    told.append(
        f"Before you come, give your telephone number and an emergency contact at {permit.contact_details}: "
        "without a number nobody can ring you, and you are watched by time only."
    )
    told.append(f"The check-in page: {permit.check_in} (the code opens it, and by itself does nothing).")
    if permit.text_to:
        code, own = permit.text_code or "and your code", "" if permit.text_code else " (it is on your own page)"
        told.append(
            f"No data, but a text would go? Text ON {code}{own} to {spaced(permit.text_to)} before you go on the "
            "water: you are checked in when the answer says so. Text OFF and the code in that answer when you are "
            "off the water, or HELP at any time. OUT and IN are not understood."
        )
    return tuple(told)


def _emergency(permit: Permit) -> tuple[str, ...]:
    told = [in_danger(tidal=permit.tidal), NOT_AN_EMERGENCY_SERVICE]
    told += [f"{one_line(one.name)}, {one.role}: {spaced(one.phone)}" for one in permit.contacts if one.phone]
    return tuple(told)
