"""What is recorded of each month of a season, and what must be settled before its return is signed.

A month without fish is in one of three states that the owner states: no record, no fishing, or fished and none
caught. Without a statement it is "no record", whatever was let or seen: a catch that nobody entered is not known
to be nil. A month without salmon fishing is reported as 0, not left empty (Marine Scotland Topic Sheet 103,
December 2018, as given by kylefisheries.org, 8 February 2019).
"""

import calendar
import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from beats.season import Season
from beats.shared.phrases import Phrase, joined, say
from beats.shared.words import day as day_in_words

MONTH_NAMES = (
    say("January"), say("February"), say("March"), say("April"), say("May"), say("June"), say("July"),
    say("August"), say("September"), say("October"), say("November"), say("December"),
)  # fmt: skip


class Record(StrEnum):
    """What is on record of a month, or of a season."""

    NO_RECORD = "no_record"
    NO_FISHING = "no_fishing"
    NONE_CAUGHT = "none_caught"
    CAUGHT = "caught"


WORDS = {
    Record.NO_RECORD: say("no record"),
    Record.NO_FISHING: say("no fishing"),
    Record.NONE_CAUGHT: say("fished, none caught"),
    Record.CAUGHT: say("fish caught"),
}


@dataclass(frozen=True)
class Evidence:
    """What the book holds of one month: counted fish, other fish, check-ins, and rod-days (None: not known)."""

    fish: int = 0
    other_fish: int = 0
    check_ins: int = 0
    rod_days: int | None = None

    @property
    def fished(self) -> bool:
        return bool(self.fish or self.other_fish or self.check_ins or self.rod_days)


def month_name(month: int) -> Phrase:
    return MONTH_NAMES[month - 1]


def record_of(stated: str | None, evidence: Evidence) -> Record:
    """The record of a month. A statement that the book contradicts does not count."""
    if evidence.fish:
        return Record.CAUGHT
    if stated == Record.NO_FISHING and not evidence.fished:
        return Record.NO_FISHING
    return Record.NONE_CAUGHT if stated == Record.NONE_CAUGHT else Record.NO_RECORD


def season_record(records: Mapping[int, Record]) -> Record:
    """The record of a season: fish in any month, else "no record" while any month has none."""
    found = set(records.values())
    for record in (Record.CAUGHT, Record.NO_RECORD, Record.NONE_CAUGHT):
        if record in found:
            return record
    return Record.NO_FISHING if found else Record.NO_RECORD


def contradiction(stated: str, month: int, evidence: Evidence) -> Phrase | None:
    """Why the owner cannot state that of the month, and what to do; None where nothing speaks against it."""
    name = month_name(month)
    fish = evidence.fish + (evidence.other_fish if stated == Record.NO_FISHING else 0)
    if stated in {Record.NO_FISHING, Record.NONE_CAUGHT} and fish:
        return say("{month} has {fish} fish on record. Strike out any that was not caught.", month=name, fish=fish)
    if stated == Record.NO_FISHING and evidence.check_ins:
        return say(
            "{month} has check-ins on {days} days of anglers, so somebody fished. State that none was caught, or "
            "enter the fish.",
            month=name, days=evidence.check_ins,
        )  # fmt: skip
    if stated == Record.NO_FISHING and evidence.rod_days:
        return say(
            "{month} has {days} rod-days let. If nobody fished them, first set its rod-days to 0 with a reason; "
            "else state that none was caught.",
            month=name, days=evidence.rod_days,
        )  # fmt: skip
    return None


def month_ends(law: Season | None, year: int, month: int) -> dt.date:
    """The last day of a month on which rods may fish, or of the month where the season ends later."""
    end = dt.date(year, month, calendar.monthrange(year, month)[1])
    return min(end, law.last_on) if law and law.last_on.month == month else end


def not_begun(law: Season | None, year: int, today: dt.date) -> Phrase | None:
    """Why nothing can be stated or signed of a season yet; None once it has begun."""
    if today >= (law.first_on if law else dt.date(year, 1, 1)):
        return None
    return say("The season {year} has not begun. Nothing can be stated or signed of it yet.", year=year)


def obstacles(records: Mapping[int, Record], *, law: Season | None, year: int, today: dt.date) -> list[Phrase]:
    """Why the return of a season cannot be signed, a sentence each; empty when it can be."""
    if early := not_begun(law, year, today):
        return [early]
    if not records:
        return [say("Nothing is on record of {year}, and no rod season is known of it.", year=year)]
    found = []
    if silent := [month for month, record in records.items() if record is Record.NO_RECORD]:
        found.append(
            say(
                "No record for {months}. State no fishing, or fished and none caught, for each; or enter fish.",
                months=_names(silent),
            )
        )
    running = [
        month
        for month, record in records.items()
        if month not in silent and record is not Record.NO_FISHING and month_ends(law, year, month) >= today
    ]
    if running:
        last = max(month_ends(law, year, month) for month in running)
        found.append(
            say(
                "{months} {year} is not over. Sign after {last}, or state no fishing for what is still to come.",
                months=_names(running),
                year=year,
                last=day_in_words(last),
            )
        )
    return found


def _names(months: Sequence[int]) -> Phrase:
    return joined([month_name(month) for month in months], ", ")
