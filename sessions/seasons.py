"""A season's statistics, asked of the database in a fixed number of questions."""

import datetime as dt
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from django.db.models import Avg, Count
from django.db.models.functions import TruncDate

from beats.models import Beat, Fishery, Reading
from beats.queries import local_day, zone_of
from beats.shared.phrases import say
from sessions.efforts import season_effort
from sessions.models import Catch
from sessions.month_records import Record
from sessions.old_totals import old_seasons
from sessions.queries import rods_let
from sessions.returns import statements
from sessions.season_rate import FOR_SALMON, season_rate
from sessions.statistics.groups import Fish, Group, best, grouped, last, level_band, warmth_band, week_of
from sessions.statistics.rates import Average, Expected, Rate, Share, average, expected, rate, share

PAST = 5
KINDS = {"salmon": ("msw", "1sw"), "sea_trout": ("sea_trout", "finnock")}
LIKE_WEEKS, LIKE_LEVEL_M = 1, 0.1
"""Days are alike within a week either way, and within a decimetre of level."""
NOTES = (
    say("The season's rate is by the rod-days of the return; that of a week is by those let, up to today."),
    say("The limits know chance alone. Fish come in runs, so the truth is less sure than they say."),
)


@dataclass(frozen=True)
class Week:
    week: int
    season: Rate
    past: Rate


@dataclass(frozen=True)
class Statistics:
    season: int
    species: str
    overall: Rate
    average: Average
    released: Share
    weeks: list[Week]
    by_pool: list[Group]
    by_level: list[Group]
    by_warmth: list[Group]
    by_fly: list[Group]
    by_part: list[Group]
    best: Fish | None
    last: Fish | None
    notes: tuple[str, ...]


def season_statistics(fishery: Fishery, season: int, *, species: str, now: dt.datetime) -> Statistics:
    """The season beside the five before it. Nine queries at most, whatever the size.

    A season of monthly totals instead of fish counts by its number; nothing finer is known of it.
    """
    fish, days = _fish(fishery, season, species), _rod_days(fishery, season, local_day(fishery, now))
    here = fish.get(season, [])
    past_years = range(season - PAST, season)
    old = old_seasons(fishery, range(season - PAST, season + 1), KINDS[species])
    old = {year: totals for year, totals in old.items() if year not in fish}
    known = {year for year, _ in days} | set(fish) | set(old)
    counts = {year: old[year].number if year in old else len(fish.get(year, [])) for year in known}
    caught = counts.get(season, 0)
    back = old[season].released if season in old else sum(one.fate == Catch.Fate.RELEASED for one in here)
    return Statistics(
        season=season,
        species=species,
        overall=season_rate_of(fishery, season, species, caught, here, now=now),
        average=average({year: counts[year] for year in known if year in past_years}, past_years),
        released=share(back, caught),
        weeks=_weeks(season, fish, days),
        by_pool=grouped(here, lambda one: one.pool),
        by_level=grouped(here, level_band),
        by_warmth=grouped(here, warmth_band),
        by_fly=grouped(here, lambda one: one.fly),
        by_part=grouped(here, lambda one: one.part),
        best=best(here),
        last=last(here),
        notes=NOTES + _old_words(old),
    )


def season_rate_of(
    fishery: Fishery, season: int, species: str, caught: int, fish: Iterable[Fish], *, now: dt.datetime
) -> Rate:
    """The one rate of a season, by the rod-days of its return, which are fished for salmon."""
    if species != "salmon":
        return Rate(caught, None, None, None, None, FOR_SALMON)
    effort = season_effort(fishery, season, today=local_day(fishery, now), months=())
    stated = statements(fishery, season)
    fished = {one.caught_on.month for one in fish}
    fished |= {month for month, record in stated.items() if record == Record.NONE_CAUGHT}
    return season_rate(caught, fished, effort)


def _old_words(old: Iterable[int]) -> tuple[str, ...]:
    years = ", ".join(str(year) for year in sorted(old))
    told = "known by monthly totals from an old book: counted by number, and in no week, pool, level or fly."
    return (f"{years}: {told}",) if years else ()


def _weeks(season: int, fish: Mapping[int, list[Fish]], days: Mapping[tuple[int, int], int]) -> list[Week]:
    caught = Counter((year, week_of(one.caught_on)) for year, rows in fish.items() for one in rows)
    weeks = sorted({week for _, week in (*caught, *days)})
    past = range(season - PAST, season)
    return [
        Week(
            week,
            rate(caught[season, week], days.get((season, week), 0)),
            rate(sum(caught[year, week] for year in past), sum(days.get((year, week), 0) for year in past)),
        )
        for week in weeks
    ]


def _fish(fishery: Fishery, season: int, species: str) -> dict[int, list[Fish]]:
    """The fish of a season and the five before it, by year."""
    rows = Catch.objects.standing().filter(
        beat__fishery=fishery, kind__in=KINDS[species],
        caught_on__gte=dt.date(season - PAST, 1, 1), caught_on__lt=dt.date(season + 1, 1, 1),
    )  # fmt: skip
    columns = ("caught_on", "fate", "pool__name", "part", "fly", "level_m", "water_c", "weight_kg", "id")
    found: dict[int, list[Fish]] = {}
    for day, fate, pool, *rest in rows.order_by().values_list(*columns).iterator(chunk_size=5000):
        found.setdefault(day.year, []).append(Fish(day, fate, pool or "", *rest))
    return found


def _rod_days(fishery: Fishery, season: int, today: dt.date) -> dict[tuple[int, int], int]:
    """Rod-days let by (year, week), of the season and the five before it, up to today."""
    last_on = min(today, dt.date(season, 12, 31))
    rows = rods_let(fishery).filter(day__gte=dt.date(season - PAST, 1, 1), day__lte=last_on)
    found: Counter = Counter()
    for day, number in rows.order_by().values_list("day").annotate(number=Count("id")):
        found[day.year, week_of(day)] += number
    return found


def season_expected(fishery: Fishery, season: int, *, week: int, level_m: float | None, species: str) -> Expected:
    """What the five seasons before show for days like these. Four queries at most."""
    years = range(season - PAST, season)
    rows = rods_let(fishery).filter(day__gte=dt.date(years[0], 1, 1), day__lt=dt.date(season, 1, 1))
    let = {
        (beat, day): number
        for beat, day, number in rows.order_by().values_list("beat", "day").annotate(number=Count("id"))
        if abs(week_of(day) - week) <= LIKE_WEEKS
    }
    if level_m is not None:
        levels = _levels(fishery, {day for _, day in let})
        let = {at: number for at, number in let.items() if abs(levels.get(at, 1e9) - level_m) <= LIKE_LEVEL_M}
    caught = Counter(
        Catch.objects.standing()
        .filter(beat__fishery=fishery, kind__in=KINDS[species], caught_on__in={day for _, day in let})
        .values_list("beat", "caught_on")
    )
    return expected((_sum(caught, let, year), _sum(let, let, year)) for year in years)


def _sum(numbers: Mapping, days: Iterable[tuple[int, dt.date]], year: int) -> int:
    return sum(numbers.get(at, 0) for at in days if at[1].year == year)


def _levels(fishery: Fishery, days: set[dt.date]) -> dict[tuple[int, dt.date], float]:
    """The mean level of each day by beat, as its gauge had it."""
    if not days:
        return {}
    zone = zone_of(fishery)
    first = dt.datetime.combine(min(days), dt.time(), tzinfo=zone)
    end = dt.datetime.combine(max(days) + dt.timedelta(days=1), dt.time(), tzinfo=zone)
    means = (
        Reading.objects.filter(gauge__fishery=fishery, at__gte=first, at__lt=end)
        .annotate(day=TruncDate("at", tzinfo=zone))
        .order_by()
        .values_list("gauge", "day")
        .annotate(level=Avg("level_m"))
    )
    by_gauge = {(gauge, day): level for gauge, day, level in means if day in days}
    beats = Beat.objects.filter(fishery=fishery).values_list("id", "gauge")
    return {(beat, day): by_gauge[gauge, day] for beat, gauge in beats for day in days if (gauge, day) in by_gauge}
