"""Lets that hold days on which nobody may fish: closed by law, by the fishery's rules or with the beat, after they
were let. Reads only."""

import datetime as dt
from collections import defaultdict
from dataclasses import dataclass

from django.db.models import Q

from beats.models import Fishery
from beats.queries import local_day
from bookings.models import BeatClosure, Let, RodDay
from bookings.openings import closed_days


@dataclass(frozen=True)
class ClosedDay:
    """A day of a let, and why it may not be fished."""

    day: dt.date
    reason: str


@dataclass(frozen=True)
class LetOnClosedDays:
    """`closed` is never empty and in order of days, from today on."""

    let: Let
    closed: tuple[ClosedDay, ...]


def lets_on_closed_days(fishery: Fishery, *, now: dt.datetime) -> list[LetOnClosedDays]:
    """Confirmed lets and standing holds with closed days to come, the first closed day first. Five queries."""
    stands = Q(let__status=Let.Status.CONFIRMED) | Q(let__status=Let.Status.HELD, let__expires_at__gt=now)
    rows = RodDay.objects.filter(stands, beat__fishery=fishery, day__gte=local_day(fishery, now))
    held = list(rows.values_list("day", "let", "beat").distinct().order_by("day", "let"))
    if not held:
        return []
    law = closed_days(fishery, sorted({day for day, _, _ in held}))
    shut = list(BeatClosure.objects.filter(beat__fishery=fishery, to_on__gte=held[0][0]).select_related("beat"))
    found: dict[int, list[ClosedDay]] = defaultdict(list)
    for day, let, beat in held:
        if reason := law.get(day) or _why_shut(shut, beat, day):
            found[let].append(ClosedDay(day, reason))
    lets = Let.objects.select_related("beat__fishery", "booker").in_bulk(found)
    return [LetOnClosedDays(lets[let], tuple(days)) for let, days in found.items()]


def _why_shut(closures: list[BeatClosure], beat: int, day: dt.date) -> str:
    for row in closures:
        if row.beat_id == beat and row.from_on <= day <= row.to_on:
            return f"{row.beat.name} is closed: {row.reason}."
    return ""
