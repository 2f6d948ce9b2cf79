"""How each day of a beat stands: free, short, full or closed, in words as well."""

import calendar
import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache
from typing import NamedTuple


class Standing(StrEnum):
    """What a day has for somebody who wants so many rods."""

    FREE = "free"
    SHORT = "short"
    FULL = "full"
    CLOSED = "closed"


@dataclass(frozen=True)
class Closure:
    """A beat closed from one day to another, both included."""

    from_on: dt.date
    to_on: dt.date
    reason: str


class BeatDay(NamedTuple):
    """One beat on one day. `free` is how many rods can still be had; `reason` says why it is closed."""

    day: dt.date
    standing: Standing
    free: int
    reason: str = ""

    @property
    def words(self) -> str:
        return words_of(self.standing, self.free)


@lru_cache(maxsize=200)
def words_of(standing: Standing, free: int) -> str:
    return f"{free} free" if standing in (Standing.FREE, Standing.SHORT) else standing.value


def days_between(first_on: dt.date, last_on: dt.date) -> list[dt.date]:
    return [first_on + dt.timedelta(days=n) for n in range((last_on - first_on).days + 1)]


def month_days(year: int, month: int) -> list[dt.date]:
    """Every day of a calendar month."""
    return days_between(dt.date(year, month, 1), dt.date(year, month, calendar.monthrange(year, month)[1]))


def beat_days(
    days: Iterable[dt.date],
    *,
    rods: int,
    taken: Mapping[dt.date, int],
    closed: Mapping[dt.date, str],
    closures: Sequence[Closure] = (),
    wanted: int = 1,
) -> list[BeatDay]:
    """How the days stand for `wanted` rods of a beat with `rods`. The law is named before work on the beat."""
    why = dict(closed)
    for each in closures:
        for day in days_between(each.from_on, each.to_on):
            why.setdefault(day, each.reason)
    return [_beat_day(day, rods - taken.get(day, 0), why.get(day, ""), wanted) for day in days]


@lru_cache(maxsize=4096)  # a month of twenty beats is six hundred of a few hundred different ones
def _beat_day(day: dt.date, free: int, reason: str, wanted: int) -> BeatDay:
    if reason:
        return BeatDay(day, Standing.CLOSED, 0, reason)
    if free <= 0:
        return BeatDay(day, Standing.FULL, 0)
    return BeatDay(day, Standing.FREE if free >= wanted else Standing.SHORT, free)


def weeks(days: Sequence[BeatDay]) -> list[list[BeatDay | None]]:
    """Days as the rows of a calendar, Monday first; None before the first and after the last."""
    cells: list[BeatDay | None] = [None] * days[0].day.weekday() + list(days)
    cells += [None] * (-len(cells) % 7)
    return [cells[at : at + 7] for at in range(0, len(cells), 7)]
