"""What a rota's sheet says: the facts, and the sentences made of them, for paper and screen alike."""

import datetime as dt
from dataclasses import dataclass

from beats.emergency import NOT_AN_EMERGENCY_SERVICE, in_danger
from beats.phones import spaced
from beats.shared import words

MOST_KEEPERS = 8
"""On the card; the fishery's own number and eight people are enough to ring."""
MOST_WARNINGS = 8
"""Reasons told in full above the table; every turn meant is marked in it."""
STATUS = {
    "draft": "DRAFT: not yet the week's rota.",
    "published": "PUBLISHED: this is the week's rota.",
    "superseded": "REPLACED: a newer rota holds. Take this sheet down.",
}


@dataclass(frozen=True)
class Turn:
    """One rod on one pool in one part of one day. `guest` is "" when the rod has no name.

    `warning` says why the turn must not be fished; empty where nothing that is known forbids it.
    """

    day: dt.date
    part: str
    starts: dt.time
    ends: dt.time
    rod: int
    guest_key: int | None
    guest: str
    pool: str
    warning: str = ""


@dataclass(frozen=True)
class Day:
    """How a day stands, and its light in local time; None where the sun does not do that."""

    day: dt.date
    standing: str
    reason: str
    sunrise: dt.time | None
    sunset: dt.time | None

    @property
    def line(self) -> str:
        """Mon 4 May: open. Sunrise 05:12, sunset 21:20."""
        rise, fall = (f"{at:%H:%M}" if at else "none" for at in (self.sunrise, self.sunset))
        return f"{short(self.day)}: {self.standing}. Sunrise {rise}, sunset {fall}."


@dataclass(frozen=True)
class Keeper:
    name: str
    role: str
    phone: str


@dataclass(frozen=True)
class Sheet:
    """Everything on one sheet. `only_for` names the guest whose line alone it shows, else "".

    `ask` says whom to ask where a turn must not be fished.
    """

    fishery: str
    river: str
    beat: str
    first_on: dt.date
    version: int
    status: str
    meeting_point: str
    tidal: bool
    latitude: float
    longitude: float
    phone: str
    keepers: tuple[Keeper, ...]
    turns: tuple[Turn, ...]
    days: tuple[Day, ...]
    cautions: tuple[str, ...]
    only_for: str
    printed_at: dt.datetime
    ask: str = ""

    @property
    def title(self) -> str:
        return self.beat

    @property
    def subtitle(self) -> str:
        week = f"Week of {words.weekday(self.first_on)} {self.first_on.year}"
        whose = f". Only the turns of {self.only_for}" if self.only_for else ""
        return f"{self.fishery}, river {self.river}. {week}, version {self.version}{whose}."

    @property
    def status_words(self) -> str:
        return STATUS[self.status]

    @property
    def do_not_fish(self) -> str:
        """Which turns must not be fished and why, each reason of a day once; empty where there are none."""
        found: dict[tuple[dt.date, str], list[str]] = {}
        for turn in self.turns:
            if turn.warning:
                found.setdefault((turn.day, turn.warning), []).append(
                    f"{turn.guest or f'rod {turn.rod}'} {turn.part}"
                )
        if not found:
            return ""
        lines = [
            f"{short(day)}, {', '.join(who)}: {why}" for (day, why), who in list(found.items())[:MOST_WARNINGS]
        ]
        more = len(found) - len(lines)
        rest = [f"And {more} more, marked in the table."] if more > 0 else []
        known = f"Do not fish (as known {words.instant(self.printed_at)})."
        return " ".join([known, *lines, *rest, self.ask])

    @property
    def meeting(self) -> str:
        return f"Meet at: {self.meeting_point}" if self.meeting_point else "Meet where the ghillie says."

    @property
    def hours(self) -> str:
        """Morning 09:00 to 13:00, afternoon 14:00 to 18:00."""
        parts = sorted({(turn.starts, turn.ends, turn.part) for turn in self.turns})
        text = ", ".join(f"{part} {starts:%H:%M} to {ends:%H:%M}" for starts, ends, part in parts)
        return text[:1].upper() + text[1:]

    @property
    def reasons(self) -> str:
        """Mon, Tue: why they stand as they do. Each reason once."""
        days = {reason: [day.day for day in self.days if day.reason == reason] for reason in self._why()}
        return " ".join(f"{', '.join(f'{day:%a}' for day in on)}: {reason}" for reason, on in days.items())

    def _why(self) -> list[str]:
        return list(dict.fromkeys(day.reason for day in self.days if day.reason))

    @property
    def danger(self) -> str:
        return in_danger(tidal=self.tidal)

    @property
    def tell_them(self) -> str:
        place = f"{self.latitude:.4f}, {self.longitude:.4f}"
        return f"Say where: {self.beat}, {self.fishery}, river {self.river}, near {place}."

    @property
    def numbers(self) -> tuple[str, ...]:
        """Whom else to ring: the fishery, then its keepers."""
        fishery = (f"{self.fishery}: {spaced(self.phone)}",) if self.phone else ()
        ring = [keeper for keeper in self.keepers if keeper.phone]
        return fishery + tuple(
            f"{keeper.name}, {keeper.role}: {spaced(keeper.phone)}" for keeper in ring[:MOST_KEEPERS]
        )

    @property
    def footer(self) -> str:
        return f"{NOT_AN_EMERGENCY_SERVICE} Printed {words.instant(self.printed_at)}."


def short(day: dt.date) -> str:
    """Mon 4 May"""
    return f"{day:%a} {day.day} {day:%b}"
