"""Rows of an old book set into this fishery's own water, many at once: a few questions, however many rows."""

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from operator import attrgetter
from typing import Any
from zoneinfo import ZoneInfo

from beats.close_times import close_time
from beats.models import Beat, Fishery, Pool
from beats.queries import rulings, zone_of
from beats.season import Ruling
from sessions import plausible
from sessions.models import Catch, MonthlyTotal
from sessions.monthly import CLASSES
from sessions.old_books.rows import OldFish, OldMonth, RowFault
from sessions.review import bands
from sessions.services.catches import judged
from sessions.services.many_fish import FishRow

NOON = dt.time(12)
ALIKE = ("beat_id", "caught_on", "pool_id", "kind", "fate", "weight_kg", "length_cm")
_alike_of = attrgetter(*ALIKE)
TWICE = "A fish just like this one stands in the book or in this file for the same pool and day."


@dataclass
class Settled:
    """Rows ready to be written, what each adds to its season, and faults and doubts by row."""

    rows: list[Any] = field(default_factory=list)
    sums: list[tuple[int, int, Decimal | None]] = field(default_factory=list)
    faults: list[RowFault] = field(default_factory=list)
    cautions: list[RowFault] = field(default_factory=list)


def settle_fish(fishery: Fishery, made: Sequence[OldFish]) -> Settled:
    """Fish with beat, pool and instant. Six questions.

    Where the book has no time of day a fish is put down at noon, without level or part of the day.
    """
    water, zone, settled = _Water(fishery), zone_of(fishery), Settled()
    taken = set(fishery.monthly_totals.values_list("season", flat=True))
    law, seen = _law_of(fishery, {old.caught_on for old in made}), _standing(fishery, made)
    for old in made:
        beat, pool = water.find(old, settled.faults)
        if old.kind in CLASSES and old.caught_on.year in taken:
            told = f"{old.caught_on.year} has monthly totals. A season has those or fish, never both."
            settled.faults.append(RowFault(old.row, "caught_on", f"{told} Take the totals out first."))
        if beat is not None:
            told = judged(old.kind, old.fate, law[old.caught_on]) if old.caught_on in law else []
            fish = _fish(old, beat, pool, zone)._replace(part=water.part(old.time), flag=" ".join(told)[:300])
            _doubt(fish, old.row, told, seen, settled.cautions)
            settled.rows.append(fish)
            settled.sums.append((old.caught_on.year, 1, old.weight_kg))
    return settled


def _fish(old: OldFish, beat: Beat, pool: Pool | None, zone: ZoneInfo) -> FishRow:
    at = dt.datetime.combine(old.caught_on, old.time or NOON, tzinfo=zone).astimezone(dt.UTC)
    return FishRow(
        beat_id=beat.pk, pool_id=pool and pool.pk, caught_at=at, caught_on=old.caught_on, kind=old.kind,
        fate=old.fate, weight_kg=old.weight_kg, length_cm=old.length_cm, fly=old.fly, method=old.method,
        sex=old.sex, note=old.note, part="", flag="", old_row=old.row,
    )  # fmt: skip


class _Water:
    """Beats, pools and parts of the day by slug or name, whatever the case."""

    def __init__(self, fishery: Fishery) -> None:
        self.beats = {name: beat for beat in fishery.beats.all() for name in _names(beat)}
        pools = Pool.objects.filter(beat__fishery=fishery).order_by("-retired")
        self.pools = {(pool.beat_id, name): pool for pool in pools for name in _names(pool)}
        self.parts = list(fishery.parts.order_by("starts"))
        self.only = next(iter(self.beats.values())) if len({*self.beats.values()}) == 1 else None

    def find(self, old: OldFish, faults: list[RowFault]) -> tuple[Beat | None, Pool | None]:
        beat = self.beats.get(old.beat.casefold()) if old.beat else self.only
        if beat is None:
            there = ", ".join(sorted({one.slug for one in self.beats.values()}))
            told = f"There is no beat {old.beat[:40]!r} here." if old.beat else "Nobody said which beat."
            faults.append(RowFault(old.row, "beat", f"{told} There is: {there}."))
            return None, None
        pool = self.pools.get((beat.pk, old.pool.casefold())) if old.pool else None
        if old.pool and pool is None:
            told = f"{beat.name} has no pool {old.pool[:40]!r}. Give its name or slug, or leave the cell empty."
            faults.append(RowFault(old.row, "pool", told))
            return None, None
        return beat, pool

    def part(self, time: dt.time | None) -> str:
        return next((one.slug for one in self.parts if time and one.starts <= time < one.ends), "")


def _names(place: Beat | Pool) -> tuple[str, str]:
    return place.slug.casefold(), place.name.casefold()


def _law_of(fishery: Fishery, days: Iterable[dt.date]) -> dict[dt.date, Ruling]:
    """How each day stands; days older than the law held here are left out. Two questions."""
    since = close_time(fishery.district).valid_from
    held = sorted(day for day in days if day >= since)
    return dict(zip(held, rulings(fishery, held), strict=True)) if held else {}


def _alike(fish: tuple) -> tuple | None:
    """What makes two fish the same; None where nothing was measured."""
    return None if fish[-2:] == (None, None) else fish


def _standing(fishery: Fishery, made: Sequence[OldFish]) -> set[tuple | None]:
    if not made:
        return set()
    first, last = min(old.caught_on for old in made), max(old.caught_on for old in made)
    rows = Catch.objects.standing().filter(beat__fishery=fishery, caught_on__gte=first, caught_on__lte=last)
    return {_alike(row) for row in rows.order_by().values_list(*ALIKE).iterator(chunk_size=5000)}


def _doubt(fish: FishRow, row: int, told: list[str], seen: set, cautions: list[RowFault]) -> None:
    odd = plausible.doubts(
        fish.kind, month=fish.caught_on.month, weight_kg=fish.weight_kg, length_cm=fish.length_cm
    )
    like = _alike(_alike_of(fish))
    twice = [TWICE] if like is not None and like in seen else []
    seen.add(like)
    cautions.extend(RowFault(row, "kind", sentence) for sentence in (*told, *odd, *twice))


def settle_months(fishery: Fishery, made: Sequence[OldMonth]) -> Settled:
    """Monthly totals, each month, class and fate once, of seasons without fish. Two questions."""
    settled = Settled()
    fished = _seasons_with_fish(fishery, {old.season for old in made})
    rows = fishery.monthly_totals.values_list("season", "month", "kind", "fate")
    there = dict.fromkeys(rows, "the book")
    for old in made:
        place = (old.season, old.month, old.kind, old.fate)
        if old.season in fished:
            told = f"{old.season} has fish in the book. A season has those or monthly totals, never both."
            settled.faults.append(RowFault(old.row, "season", f"{told} Strike the fish out first."))
        if place in there:
            told = (
                f"{CLASSES[old.kind]} {old.fate} of that month stand in {there[place]} already. Keep one of them."
            )
            settled.faults.append(RowFault(old.row, "month", told))
        there.setdefault(place, f"row {old.row}")
        settled.cautions += _odd_mean(old)
        settled.rows.append(
            MonthlyTotal(
                fishery=fishery, season=old.season, month=old.month, kind=old.kind, fate=old.fate,
                number=old.number, weight_kg=old.weight_kg, old_row=old.row,
            )
        )  # fmt: skip
        settled.sums.append((old.season, old.number, old.weight_kg))
    return settled


def _seasons_with_fish(fishery: Fishery, seasons: Iterable[int]) -> set[int]:
    """Of those seasons, the ones with a fish that counts."""
    seasons = set(seasons)
    if not seasons:
        return set()
    fish = Catch.objects.standing().filter(
        beat__fishery=fishery, kind__in=CLASSES,
        caught_on__gte=dt.date(min(seasons), 1, 1), caught_on__lt=dt.date(max(seasons) + 1, 1, 1),
    )  # fmt: skip
    years = fish.order_by().values_list("caught_on__year", flat=True).distinct()
    return seasons & set(years)


def _odd_mean(old: OldMonth) -> list[RowFault]:
    if old.weight_kg is None:
        return []
    mean, (low, high) = old.weight_kg / old.number, bands(old.kind, old.number)
    if low <= mean <= high:
        return []
    told = f"A mean of {mean:.2f} kg is outside {low:.2f} to {high:.2f} kg. Look again at number, weight and unit."
    return [RowFault(old.row, "weight", told)]
