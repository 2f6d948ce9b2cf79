"""What the river says: its law and light on a day, and what its gauges read."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from zoneinfo import ZoneInfo

from django.db import connection

from beats import close_times, light, season
from beats.models import Beat, Fishery, Gauge
from beats.water.gauge_history import FlatRun
from beats.water.onset import LOOK_BACK
from beats.water.quality import CONTEXT, Unconfirmed, in_order
from beats.water.reckoning import level_words
from beats.water.trend import Habits, Reading, Record, State

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
    return light.light(day, latitude=fishery.latitude, longitude=fishery.longitude, zone=zone_of(fishery))


# Written by hand: every page of conditions asks them, and the ORM takes ten times as long to say the same.
# Each is a walk along the unique index of (gauge, at). What a keeper distrusts is not read at all.
COLUMNS = "SELECT at, level_m, water_c, trusted FROM beats_reading WHERE gauge_id = %s AND "
NOT_REJECTED = "(judged_by_id IS NULL OR trusted)"
NEWEST = f"{COLUMNS} at <= %s AND {NOT_REJECTED} ORDER BY at DESC LIMIT 1"
BETWEEN = f"{COLUMNS} at >= %s AND at <= %s AND {NOT_REJECTED} ORDER BY at"
WITH_CONTEXT = (
    "SELECT at, level_m, water_c, trusted FROM "  # noqa: S608 - put together from the constants above
    f"({COLUMNS} at < %s AND {NOT_REJECTED} ORDER BY at DESC LIMIT {CONTEXT}) AS earlier "
    f"UNION ALL {COLUMNS} at >= %s AND at <= %s AND {NOT_REJECTED} ORDER BY at"
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


def levels_with_context(gauge_id: int, first: dt.datetime, last: dt.datetime) -> list[Read]:
    """As `levels_between`, and the few readings before `first`, however old: what the quality control needs.

    One query. Empty only where the gauge read nothing until `last`.
    """
    start, end = map(connection.ops.adapt_datetimefield_value, (first, last))
    return _rows(WITH_CONTEXT, [gauge_id, start, gauge_id, start, end])


def _readings(sql: str, gauge_id: int, *instants: dt.datetime) -> list[Read]:
    return _rows(sql, [gauge_id, *map(connection.ops.adapt_datetimefield_value, instants)])


def _rows(sql: str, values: list) -> list[Read]:
    with connection.cursor() as cursor:
        cursor.execute(sql, values)
        rows = cursor.fetchall()
    if connection.vendor == "sqlite":  # keeps instants in UTC and does not say so, and truth as 0 and 1
        return [
            (_instant(at), level_m, water_c, None if trusted is None else bool(trusted))
            for at, level_m, water_c, trusted in rows
        ]
    return rows


def _instant(stored: dt.datetime | str) -> dt.datetime:
    """SQLite returns a date and time of a combined query as text."""
    at = dt.datetime.fromisoformat(stored) if isinstance(stored, str) else stored
    return at.replace(tzinfo=dt.UTC)


@dataclass(frozen=True)
class Level:
    """The newest reading of a beat's gauge, and how old it is. `stale` when too old to trust.

    `assumed_m`: the level to assume where `level_m` is not to be relied on; see `trend.State`.
    """

    gauge: Gauge
    level_m: float | None
    at: dt.datetime | None
    age_minutes: int | None
    stale: bool
    trusted: bool = True
    unconfirmed: Unconfirmed | None = None
    assumed_m: float | None = None
    rising: bool | None = None

    @property
    def words(self) -> str:
        return level_words(
            self.gauge.name,
            self.level_m,
            self.age_minutes,
            stale=self.stale,
            trusted=self.trusted,
            unconfirmed=self.unconfirmed,
            assumed_m=self.assumed_m,
            rising=self.rising,
        )


def habits_of(gauge: Gauge) -> Habits:
    """What the keepers wrote down as usual at a gauge."""
    return Habits(
        stale_after=dt.timedelta(minutes=gauge.stale_after_minutes),
        jump_m=gauge.jump_m,
        fall_step_m=gauge.fall_step_m,
        confirm_readings=gauge.confirm_readings,
        flat_after=dt.timedelta(hours=gauge.flat_after_hours),
    )


def flat_run_of(gauge: Gauge) -> FlatRun:
    """The run of equal readings as it was when the newest reading was stored."""
    longest = dt.timedelta(minutes=gauge.longest_flat_minutes)
    return FlatRun(gauge.flat_m, gauge.flat_since, gauge.flat_last_at, gauge.flat_count, longest, gauge.seen_since)


def looked_back(gauge: Gauge) -> dt.timedelta:
    """How far back readings are read to judge the newest; further where no flat run is stored yet."""
    habits = habits_of(gauge)
    longest = max(habits.window, LOOK_BACK)
    return longest if gauge.flat_last_at else max(longest, habits.flat_after * 2)


def state_of(gauge: Gauge, now: dt.datetime) -> State | None:
    """The gauge at `now`, judged with its settings and its history; None without a reading. One query."""
    return recent_and_state(gauge, now)[1]


def recent_and_state(gauge: Gauge, now: dt.datetime) -> tuple[list[Reading], State | None]:
    """As `state_of`, and the newest readings by time, judged. One query."""
    rows = levels_with_context(gauge.pk, now - looked_back(gauge), now)
    record = Record(habits_of(gauge), flat_run_of(gauge))
    for reading in in_order(Reading(at, level_m, trusted) for at, level_m, _, trusted in rows):
        record.add(reading)
    return list(record.recent), record.state(now)


def level_at(beat: Beat, now: dt.datetime) -> Level | None:
    """What the beat's gauge last read at `now`; None when the beat has no gauge."""
    gauge = beat.gauge
    if gauge is None:
        return None
    known = state_of(gauge, now)
    if known is None:
        return Level(gauge, None, None, None, stale=True)
    return Level(
        gauge,
        known.level_m,
        known.at,
        known.age // dt.timedelta(minutes=1),
        stale=known.stale,
        trusted=known.trusted,
        unconfirmed=known.unconfirmed,
        assumed_m=known.assumed_m,
        rising=known.rising,
    )
