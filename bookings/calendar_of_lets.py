"""The lets of a month, day by day. Reads only."""

import datetime as dt
from dataclasses import dataclass

from django.db.models import Count

from beats.models import Beat, Fishery
from bookings.availability import Standing, month_days
from bookings.models import RodDay
from bookings.openings import spans


@dataclass(frozen=True)
class LetOnDay:
    let: int
    booker: str
    rods: int
    held: bool
    lapsed: bool


@dataclass(frozen=True)
class BeatOnDay:
    """What is let of a beat on a day, how many rods can still be let, and why it is closed if it is."""

    beat: Beat
    lets: list[LetOnDay]
    left: int
    closed: str


@dataclass(frozen=True)
class DayOfLets:
    day: dt.date
    beats: list[BeatOnDay]


def month_of_lets(fishery: Fishery, first: dt.date, *, now: dt.datetime) -> tuple[list[Beat], list[DayOfLets]]:
    """The beats, and each day of the month that `first` begins.

    Law, the fishery's own rules, closures and lapsed holds count as for `spans`, which letting agrees with. Six
    queries.
    """
    days = month_days(first.year, first.month)
    taken = _taken(fishery, days, now)
    found = spans(fishery, first_on=days[0], last_on=days[-1], now=now)
    rows = [DayOfLets(day, []) for day in days]
    for span in found:
        for row, on_day in zip(rows, span.days, strict=True):
            closed = on_day.reason if on_day.standing is Standing.CLOSED else ""
            row.beats.append(BeatOnDay(span.beat, taken.get((span.beat.pk, row.day), []), on_day.free, closed))
    return [span.beat for span in found], rows


def _taken(fishery: Fishery, days: list[dt.date], now: dt.datetime) -> dict[tuple[int, dt.date], list[LetOnDay]]:
    rows = RodDay.objects.filter(beat__fishery=fishery, day__range=(days[0], days[-1]))
    rows = rows.values("beat", "day", "let", "let__status", "let__expires_at", "let__booker__name").annotate(
        number=Count("id")
    )
    found: dict[tuple[int, dt.date], list[LetOnDay]] = {}
    for row in rows.order_by("day", "let"):
        held = row["let__status"] == "held"
        lapsed = held and row["let__expires_at"] <= now
        let = LetOnDay(row["let"], row["let__booker__name"], row["number"], held and not lapsed, lapsed)
        found.setdefault((row["beat"], row["day"]), []).append(let)
    return found
