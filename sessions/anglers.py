"""One angler's own season: the days fished, blank ones too, and the fish.

For waters where the duty to report is the angler's. Nobody else is named in it.
"""

import datetime as dt
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import Q

from beats.queries import local_day
from beats.shared.cells import safe_cell
from bookings.models import Guest
from sessions.models import Catch, ReturnDue
from sessions.monthly import CLASSES
from sessions.queries import outings_seen, rods_let

HEADER = (
    "Day", "Beat", "Rod days", "Pool", "Class", "Kept or released", "Weight (kg)", "Weight from", "Length (cm)",
    "Method", "Fly",
)  # fmt: skip


@dataclass(frozen=True)
class AnglerDay:
    """One day on one beat: whether a rod was held, whether the angler checked in, how many fish count."""

    day: dt.date
    beat: str
    let: bool
    seen: bool
    fish: int


@dataclass(frozen=True)
class AnglerTotal:
    kind: str
    fate: str
    number: int
    weight_kg: Decimal | None
    unweighed: int


@dataclass(frozen=True)
class AnglerRecord:
    guest: Guest
    season: int
    due_on: dt.date | None
    rod_days: int
    days: list[AnglerDay]
    fish: list[Catch]
    totals: list[AnglerTotal]


def angler_record(guest: Guest, season: int, *, now: dt.datetime) -> AnglerRecord:
    """What one angler did here in a year, up to today at the river. Four queries."""
    today = local_day(guest.fishery, now)
    fish = list(
        Catch.objects.standing()
        .filter(guest=guest, caught_on__year=season)
        .select_related("beat", "pool")
        .order_by("caught_on", "caught_at", "id")
    )
    held = rods_let(guest.fishery).filter(Q(guest=guest) | Q(sharer=guest), day__year=season, day__lte=today)
    let = set(held.values_list("day", "beat__name"))
    seen = _seen(guest, season)
    caught = Counter((one.caught_on, one.beat.name) for one in fish if one.kind in CLASSES)
    every = let | seen | {(one.caught_on, one.beat.name) for one in fish}
    days = [
        AnglerDay(day, beat, (day, beat) in let, (day, beat) in seen, caught[day, beat]) for day, beat in every
    ]
    due = ReturnDue.objects.filter(fishery=guest.fishery_id, season=season).first()
    return AnglerRecord(
        guest=guest,
        season=season,
        due_on=due.anglers_due_on if due else None,
        rod_days=len({one.day for one in days}),
        days=sorted(days, key=lambda one: (one.day, one.beat)),
        fish=fish,
        totals=_totals(fish),
    )


def _seen(guest: Guest, season: int) -> set[tuple[dt.date, str]]:
    rows = outings_seen().filter(guest=guest, checked_in_at__year__in=(season - 1, season, season + 1))
    days = {
        (local_day(guest.fishery, at), beat) for at, beat in rows.values_list("checked_in_at", "beat__name")
    }  # fmt: skip
    return {(day, beat) for day, beat in days if day.year == season}


def _totals(fish: Iterable[Catch]) -> list[AnglerTotal]:
    groups: dict[tuple[str, str], list[Decimal | None]] = {}
    for one in fish:
        groups.setdefault((one.kind, one.fate), []).append(one.weight_kg)
    return [
        AnglerTotal(kind, fate, len(sizes), _together(sizes), sizes.count(None))
        for (kind, fate), sizes in sorted(groups.items())
    ]


def _together(sizes: list[Decimal | None]) -> Decimal | None:
    """What the weighed fish weigh together, kg; None where none was weighed."""
    weighed = [size for size in sizes if size is not None]
    return sum(weighed, Decimal(0)) if weighed else None


def lines(record: AnglerRecord) -> list[list[str]]:
    """A line a fish, and one for each blank day. Rod-days stand once a day, so that they add up."""
    made = [list(HEADER)]
    told: set[dt.date] = set()
    for day in record.days:
        fish = [one for one in record.fish if (one.caught_on, one.beat.name) == (day.day, day.beat)]
        for one in fish or [None]:
            made.append([str(day.day), safe_cell(day.beat), str(int(day.day not in told)), *_cells(one)])
            told.add(day.day)
    return made


def _cells(fish: Catch | None) -> list[str]:
    if fish is None:
        return [""] * (len(HEADER) - 3)
    pool = fish.pool.name if fish.pool else ""
    sizes = ("" if size is None else str(size) for size in (fish.weight_kg, fish.length_cm))
    weight, length = sizes
    return [
        safe_cell(pool), fish.kind, fish.fate, weight, fish.weight_how, length, fish.method, safe_cell(fish.fly),
    ]  # fmt: skip
