"""The month view and the openings search over ten years of a big water, beside the same in SQL by hand."""

import datetime as dt
import json
from collections.abc import Callable

from django.db import connection

from beats.management.own_database import by_hand
from beats.models import Beat, Fishery
from beats.shared.bench import Row, by_turns
from bookings.availability import month_days
from bookings.models import Guest, Let
from bookings.openings import DIALECT, openings, spans
from bookings.season_weeks import monday
from bookings.told import told_spans

NOW = dt.datetime(2026, 3, 1, 11, tzinfo=dt.UTC)
BEATS, RODS, WEEKS, YEARS = 20, 8, 40, 10
APRIL = month_days(2026, 4)
GOAL = 3.0
# Every rod of every day of forty weeks; in the newest year some are still to be had.
FILL = """INSERT INTO bookings_rodday (beat_id, day, rod, let_id)
WITH RECURSIVE rods(rod) AS (SELECT 1 UNION ALL SELECT rod + 1 FROM rods WHERE rod < %s),
days(n) AS (SELECT 0 UNION ALL SELECT n + 1 FROM days WHERE n < 5)
SELECT l.beat_id, {day}, rods.rod, l.id FROM bookings_let l CROSS JOIN rods CROSS JOIN days
WHERE l.beat_id IN (SELECT id FROM beats_beat WHERE fishery_id = %s)
AND (l.first_on < %s OR rods.rod <= 2 + (l.id + days.n / 4) %% 7)"""
DAY = {"sqlite": "date(l.first_on, '+' || days.n || ' days')", "postgresql": "l.first_on + days.n"}
MONTH_BY_HAND = """SELECT beat_id, day, COUNT(*) FROM bookings_rodday
WHERE beat_id IN (SELECT id FROM beats_beat WHERE fishery_id = %s) AND day BETWEEN %s AND %s
GROUP BY beat_id, day ORDER BY beat_id, day"""
OPENINGS_BY_HAND = """WITH open_days(day, n) AS ({open_days}),
taken AS (
  SELECT beat_id, day, COUNT(*) AS rods FROM bookings_rodday
  WHERE beat_id IN (SELECT id FROM beats_beat WHERE fishery_id = %s) AND day BETWEEN %s AND %s
  GROUP BY beat_id, day
), free AS (
  SELECT b.id, d.day, d.n - ROW_NUMBER() OVER (PARTITION BY b.id ORDER BY d.n) AS run
  FROM open_days d CROSS JOIN beats_beat b LEFT JOIN taken t ON t.beat_id = b.id AND t.day = d.day
  WHERE b.fishery_id = %s AND b.rods - COALESCE(t.rods, 0) >= 3
)
SELECT id, MIN(day), MAX(day) FROM free GROUP BY id, run HAVING COUNT(*) >= 4 ORDER BY MIN(day), id LIMIT 5"""


def rows(rounds: int, years: int = YEARS) -> list[Row]:
    fishery = _filled(years)
    span = [APRIL[0], APRIL[-1]]
    first, last = map(connection.ops.adapt_datefield_value, span)
    open_days = [day for day in APRIL if day.weekday() < 6]
    in_order = " UNION ALL ".join(_literal(day) for day in open_days)
    search = {"first_on": APRIL[0], "last_on": APRIL[-1], "now": NOW}
    size = f"{_count()} rod-days"
    return [
        _compared(
            f"a month of {BEATS} beats among {size}", rounds,
            lambda: json.dumps(told_spans(spans(fishery, **search))),
            lambda: json.dumps(by_hand(MONTH_BY_HAND, [fishery.pk, first, last])(), default=str),
        ),
        _compared(
            f"first five openings among {size}", rounds,
            lambda: openings(fishery, **search, rods=3, days=4),
            by_hand(
                OPENINGS_BY_HAND.format(open_days=in_order), [fishery.pk, first, last, fishery.pk]
            ),
        ),
    ]  # fmt: skip


def _literal(day: dt.date) -> str:
    cast = "DATE " if "::" in DIALECT[connection.vendor]["first"] else ""
    return f"SELECT {cast}'{day}', {(day - APRIL[0]).days}"


def _filled(years: int) -> Fishery:
    fishery = Fishery.objects.create(
        slug="archive",
        name="Archive",
        river="B",
        time_zone="Europe/London",
        district="51",
        latitude=57,
        longitude=-5,
    )
    policy = {"longest_outing_minutes": 600, "grace_minutes": 15, "lone_grace_minutes": 0}
    beats = Beat.objects.bulk_create(
        Beat(fishery=fishery, slug=f"b{n}", name=f"Beat {n}", order=n, rods=RODS, **policy) for n in range(BEATS)
    )
    guest = Guest.objects.create(fishery=fishery, name="Guest")
    weeks = [
        monday(dt.date(2026 - back, 2, 16)) + dt.timedelta(days=7 * n)
        for back in range(years)
        for n in range(WEEKS)
    ]
    Let.objects.bulk_create(
        Let(beat=beat, booker=guest, first_on=week, last_on=week + dt.timedelta(days=5), rods=RODS, made_at=NOW,
            confirmed_at=NOW)
        for beat in beats for week in weeks
    )  # fmt: skip
    with connection.cursor() as cursor:
        newest = connection.ops.adapt_datefield_value(dt.date(2026, 1, 1))
        cursor.execute(FILL.format(day=DAY[connection.vendor]), [RODS, fishery.pk, newest])
        cursor.execute("ANALYZE")
    return fishery


def _count() -> int:
    return by_hand("SELECT COUNT(*) FROM bookings_rodday", [])()[0][0]


def _compared(case: str, rounds: int, ours: Callable, baseline: Callable) -> Row:
    """Medians in milliseconds."""
    if not ours() or not baseline():
        raise RuntimeError(f"{case}: the archive does not hold what was put in")
    value, base = (seconds * 1000 for seconds in by_turns(rounds, ours, baseline))
    return Row(case, round(value, 2), "ms", round(base, 2), f"under {GOAL:g} times by hand", value / base < GOAL)
