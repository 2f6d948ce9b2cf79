"""What can still be had: counts and runs of free days, asked of the database in one query each.

Rod-days of a hold that has run out count as free, swept or not.
"""

import datetime as dt
import json
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from django.db import connection

from beats.models import Beat, Fishery
from beats.queries import rulings
from beats.season import Status
from bookings.availability import BeatDay, Closure, beat_days, days_between

# The three words in which the two databases differ: the first day of the series, the next, and a list of days.
DIALECT = {
    "sqlite": {"first": "%s", "next": "date(day, '+1 day')", "days": "SELECT value FROM json_each(%s)"},
    "postgresql": {
        "first": "%s::date",
        "next": "day + 1",
        "days": "SELECT value::date FROM json_array_elements_text(%s::json)",
    },
}
LAPSED = "SELECT id FROM bookings_let WHERE status = 'held' AND expires_at <= %s"
# Counted along the unique index alone; the few rods of holds that ran out are taken off afterwards.
TAKEN = """SELECT beat_id, day, CAST(SUM(rods) AS integer) FROM (
  SELECT beat_id, day, COUNT(*) AS rods FROM bookings_rodday
  WHERE {beats} AND day BETWEEN %s AND %s GROUP BY beat_id, day
  UNION ALL
  SELECT beat_id, day, -COUNT(*) AS rods FROM bookings_rodday WHERE let_id IN ({lapsed}) GROUP BY beat_id, day
) counted GROUP BY beat_id, day"""
# Days of the span that the law leaves open, numbered by date; a run is where the numbers keep pace.
OPENINGS = """WITH RECURSIVE series(day, n) AS (
  SELECT {first}, 0 UNION ALL SELECT {next}, n + 1 FROM series WHERE n < %s
), taken(beat_id, day, rods) AS ({taken}),
free AS (
  SELECT beat.id AS beat_id, beat."order" AS place, series.day, series.n,
    beat.rods - COALESCE(taken.rods, 0) AS rods
  FROM series CROSS JOIN beats_beat beat
  LEFT JOIN taken ON taken.beat_id = beat.id AND taken.day = series.day
  WHERE beat.{only} AND beat.rods - COALESCE(taken.rods, 0) >= %s AND series.day NOT IN ({days})
  AND NOT EXISTS (
    SELECT 1 FROM bookings_beatclosure shut
    WHERE shut.beat_id = beat.id AND series.day BETWEEN shut.from_on AND shut.to_on
  )
), runs AS (
  SELECT free.*, n - ROW_NUMBER() OVER (PARTITION BY beat_id ORDER BY n) AS run FROM free
)
SELECT beat_id, MIN(day), MAX(day), COUNT(*), MIN(rods) FROM runs
GROUP BY beat_id, place, run HAVING COUNT(*) >= %s ORDER BY MIN(day), place, beat_id LIMIT %s"""


CLOSURES = """SELECT shut.beat_id, shut.from_on, shut.to_on, shut.reason FROM bookings_beatclosure shut
JOIN beats_beat beat ON beat.id = shut.beat_id
WHERE beat.fishery_id = %s AND shut.from_on <= %s AND shut.to_on >= %s ORDER BY shut.from_on"""


@dataclass(frozen=True)
class Opening:
    """A run of days on which a beat has the rods wanted every day. `rods_free` is the fewest on any of them."""

    beat_id: int
    first_on: dt.date
    last_on: dt.date
    days: int
    rods_free: int


@dataclass(frozen=True)
class BeatSpan:
    """A beat and how its days stand."""

    beat: Beat
    days: list[BeatDay]


def openings(
    fishery: Fishery,
    *,
    first_on: dt.date,
    last_on: dt.date,
    rods: int,
    days: int,
    now: dt.datetime,
    beat: Beat | None = None,
    limit: int = 5,
) -> list[Opening]:
    """The first runs of at least `days` days together with `rods` rods free, by date, then down the river.

    Three queries: the house's rules and grades, and one for the answer.
    """
    words = DIALECT[connection.vendor]
    of, key = _of(fishery, beat)
    taken = TAKEN.format(beats=_among(beat), lapsed=LAPSED)
    sql = OPENINGS.format(**words, taken=taken, only=of)
    closed = [str(day) for day in closed_days(fishery, days_between(first_on, last_on))]
    instant = connection.ops.adapt_datetimefield_value(now)
    span = [_day(first_on), _day(last_on)]
    values = [span[0], (last_on - first_on).days, key, *span, instant, key, rods, json.dumps(closed), days, limit]
    return [
        Opening(beat_id, _as_date(start), _as_date(end), count, left)
        for beat_id, start, end, count, left in _rows(sql, values)
    ]


def spans(
    fishery: Fishery,
    *,
    first_on: dt.date,
    last_on: dt.date,
    now: dt.datetime,
    beat: Beat | None = None,
    wanted: int = 1,
) -> list[BeatSpan]:
    """How every day stands on each beat, down the river. Five queries, however many beats and days."""
    days = days_between(first_on, last_on)
    closed = closed_days(fishery, days_between(first_on, last_on))
    taken = taken_counts(fishery, first_on, last_on, now=now, beat=beat)
    closures = _closures(fishery, first_on, last_on)
    beats = [beat] if beat else fishery.beats.only("name", "rods", "fishery").order_by("order", "pk")
    facts = {"closed": closed, "wanted": wanted}
    return [
        BeatSpan(each, beat_days(days, rods=each.rods, taken=taken[each.pk], closures=closures[each.pk], **facts))
        for each in beats
    ]


def closed_days(fishery: Fishery, days: Iterable[dt.date]) -> dict[dt.date, str]:
    """Which of the days law or house rule closes, each with its first reason. Two queries."""
    found = rulings(fishery, days)
    return {ruling.day: ruling.reasons[0].text for ruling in found if ruling.status is Status.CLOSED}


def taken_counts(
    fishery: Fishery, first_on: dt.date, last_on: dt.date, *, now: dt.datetime, beat: Beat | None = None
) -> dict[int, dict[dt.date, int]]:
    """How many rods are taken, by beat and day; what is not there is nought. One query."""
    _, key = _of(fishery, beat)
    sql = TAKEN.format(beats=_among(beat), lapsed=LAPSED)
    values = [key, _day(first_on), _day(last_on), connection.ops.adapt_datetimefield_value(now)]
    counts: dict[int, dict[dt.date, int]] = defaultdict(dict)
    for beat_id, day, count in _rows(sql, values):
        counts[beat_id][_as_date(day)] = count
    return counts


def _closures(fishery: Fishery, first_on: dt.date, last_on: dt.date) -> dict[int, list[Closure]]:
    found: dict[int, list[Closure]] = defaultdict(list)
    for beat_id, start, end, reason in _rows(CLOSURES, [fishery.pk, _day(last_on), _day(first_on)]):
        found[beat_id].append(Closure(_as_date(start), _as_date(end), reason))
    return found


def _of(fishery: Fishery, beat: Beat | None) -> tuple[str, int]:
    """The condition on a beat's row, and the key it compares with."""
    return ("id = %s", beat.pk) if beat else ("fishery_id = %s", fishery.pk)


def _among(beat: Beat | None) -> str:
    return "beat_id = %s" if beat else "beat_id IN (SELECT id FROM beats_beat WHERE fishery_id = %s)"


def _rows(sql: str, values: list) -> list[tuple]:
    with connection.cursor() as cursor:
        cursor.execute(sql, values)
        return cursor.fetchall()


def _day(day: dt.date):
    return connection.ops.adapt_datefield_value(day)


def _as_date(value) -> dt.date:
    return dt.date.fromisoformat(value) if isinstance(value, str) else value
