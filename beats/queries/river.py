"""What the river says: its law and light on a day, and what its gauges read."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from zoneinfo import ZoneInfo

from django.db import connection

from beats import close_times, light, places, season
from beats.models import Beat, Fishery, Gauge
from beats.water.reckoning import level_words

# By hand: the law is asked about on nearly every request, and writing these down costs more than running them.
GRADES = "SELECT from_on, grade FROM beats_conservationgrade WHERE fishery_id = %s ORDER BY id"
RULES = 'SELECT status, start, "end", reason FROM beats_fisheryrule WHERE fishery_id = %s ORDER BY id'


def zone_of(fishery: Fishery) -> ZoneInfo:
    return ZoneInfo(fishery.time_zone)


def local_day(fishery: Fishery, now: dt.datetime) -> dt.date:
    """The date at the river at an instant."""
    return now.astimezone(zone_of(fishery)).date()


def rulings(fishery: Fishery, days: Iterable[dt.date]) -> list[season.Ruling]:
    """How each day stands at this fishery, by law and by the house. Two queries, however many days."""
    with connection.cursor() as cursor:
        cursor.execute(GRADES, [fishery.pk])
        grades = [(_date(since), grade) for since, grade in cursor.fetchall()]
        cursor.execute(RULES, [fishery.pk])
        return judged(fishery, days, grades=grades, rules=cursor.fetchall())


def _date(told: dt.date | str) -> dt.date:
    return dt.date.fromisoformat(told) if isinstance(told, str) else told  # SQLite keeps dates as text


def judged(
    fishery: Fishery,
    days: Iterable[dt.date],
    *,
    grades: Iterable[tuple[dt.date, str]],
    rules: Iterable[tuple[str, str, str, str]],
) -> list[season.Ruling]:
    """The same from grades (from, grade) and house rules (status, start, end, reason) already read."""
    close_time = close_times.close_time(fishery.district)
    graded = [(since, season.Grade(grade)) for since, grade in grades]
    house = [
        season.HouseRule(
            season.Status(status),
            season.Period(season.MonthDay.parse(start), season.MonthDay.parse(end)),
            reason,
        )
        for status, start, end, reason in rules
    ]
    return list(_ruled(close_time, tuple(days), tuple(graded), tuple(house)))


@lru_cache(maxsize=32)
def _ruled(
    close_time: season.CloseTime,
    days: tuple[dt.date, ...],
    grades: tuple[tuple[dt.date, season.Grade], ...],
    house: tuple[season.HouseRule, ...],
) -> tuple[season.Ruling, ...]:
    """The same month is asked about all morning, and the law is a function of what it is given."""
    return tuple(season.ruling(close_time, day, grades=grades, house_rules=house) for day in days)


def light_on(fishery: Fishery, day: dt.date) -> light.Light:
    """At the fishery's point; at the middle of its district where that point cannot be right."""
    latitude, longitude = places.for_light(fishery.latitude, fishery.longitude, entry=fishery.district)
    return light.light(day, latitude=latitude, longitude=longitude, zone=zone_of(fishery))


# Written by hand: every page of conditions asks them, and the ORM takes ten times as long to say the same.
# Both are one walk along the unique index of (gauge, at).
NEWEST = (
    "SELECT at, level_m, water_c, trusted FROM beats_reading "
    "WHERE gauge_id = %s AND at <= %s ORDER BY at DESC LIMIT 1"
)
BETWEEN = (
    "SELECT at, level_m, water_c, trusted FROM beats_reading "
    "WHERE gauge_id = %s AND at >= %s AND at <= %s ORDER BY at"
)

Read = tuple[dt.datetime, float, float | None, bool | None]
"""When it was read, metres, degrees Celsius, and whether it is trusted: see `Reading`."""


def newest_level(gauge_id: int, now: dt.datetime) -> Read | None:
    """What the gauge last read at `now`. One query."""
    rows = _readings(NEWEST, gauge_id, now)
    return rows[0] if rows else None


def levels_between(gauge_id: int, first: dt.datetime, last: dt.datetime) -> list[Read]:
    """What the gauge read between two instants, both included, in order. One query."""
    return _readings(BETWEEN, gauge_id, first, last)


def _readings(sql: str, gauge_id: int, *instants: dt.datetime) -> list[Read]:
    with connection.cursor() as cursor:
        cursor.execute(sql, [gauge_id, *map(connection.ops.adapt_datetimefield_value, instants)])
        rows = cursor.fetchall()
    if connection.vendor == "sqlite":  # keeps instants in UTC and does not say so, and truth as 0 and 1
        return [
            (at.replace(tzinfo=dt.UTC), level_m, water_c, None if trusted is None else bool(trusted))
            for at, level_m, water_c, trusted in rows
        ]
    return rows


@dataclass(frozen=True)
class Level:
    """The newest reading of a beat's gauge, and how old it is. `stale` when too old to trust."""

    gauge: Gauge
    level_m: float | None
    at: dt.datetime | None
    age_minutes: int | None
    stale: bool
    trusted: bool = True

    @property
    def words(self) -> str:
        return level_words(self.gauge.name, self.level_m, self.age_minutes, stale=self.stale, trusted=self.trusted)


def level_at(beat: Beat, now: dt.datetime) -> Level | None:
    """What the beat's gauge last said at `now`; None when the beat has no gauge."""
    gauge = beat.gauge
    if gauge is None:
        return None
    newest = newest_level(gauge.pk, now)
    if newest is None:
        return Level(gauge, None, None, None, stale=True)
    at, level_m, _, trusted = newest
    age = int((now - at).total_seconds() // 60)
    return Level(gauge, level_m, at, age, stale=age > gauge.stale_after_minutes, trusted=trusted is not False)
