"""The lets of a month, day by day. Reads only."""

import calendar
import datetime as dt
from dataclasses import dataclass

from django.db.models import Count

from beats.models import Beat, Fishery
from bookings.models import BeatClosure, RodDay


@dataclass(frozen=True)
class LetOnDay:
    let: int
    booker: str
    rods: int
    held: bool


@dataclass(frozen=True)
class BeatOnDay:
    """What is let of a beat on a day, how many rods are left, and why it is closed if it is."""

    beat: Beat
    lets: list[LetOnDay]
    left: int
    closed: str


@dataclass(frozen=True)
class DayOfLets:
    day: dt.date
    beats: list[BeatOnDay]


def month_of_lets(fishery: Fishery, first: dt.date) -> tuple[list[Beat], list[DayOfLets]]:
    """The beats, and each day of the month that `first` begins. Three queries."""
    days = [first + dt.timedelta(n) for n in range(calendar.monthrange(first.year, first.month)[1])]
    beats = list(Beat.objects.filter(fishery=fishery).order_by("name", "id"))
    taken = _taken(fishery, days)
    closed = list(BeatClosure.objects.filter(beat__fishery=fishery, from_on__lte=days[-1], to_on__gte=first))

    def told(beat: Beat, day: dt.date) -> BeatOnDay:
        lets = taken.get((beat.pk, day), [])
        why = [row.reason for row in closed if row.beat_id == beat.pk and row.from_on <= day <= row.to_on]
        return BeatOnDay(beat, lets, beat.rods - sum(let.rods for let in lets), "; ".join(why))

    return beats, [DayOfLets(day, [told(beat, day) for beat in beats]) for day in days]


def _taken(fishery: Fishery, days: list[dt.date]) -> dict[tuple[int, dt.date], list[LetOnDay]]:
    rows = RodDay.objects.filter(beat__fishery=fishery, day__range=(days[0], days[-1]))
    rows = rows.values("beat", "day", "let", "let__status", "let__booker__name").annotate(number=Count("id"))
    found: dict[tuple[int, dt.date], list[LetOnDay]] = {}
    for row in rows.order_by("day", "let"):
        let = LetOnDay(row["let"], row["let__booker__name"], row["number"], row["let__status"] == "held")
        found.setdefault((row["beat"], row["day"]), []).append(let)
    return found
