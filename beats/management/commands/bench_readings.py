"""manage.py bench_readings: what the newest level and the last three hours cost among many readings."""

import datetime as dt
import tempfile
from collections.abc import Callable
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError
from django.db import connection

from beats import queries
from beats.management.own_database import by_hand, in_a_database_of_its_own
from beats.models import Fishery, Gauge
from beats.shared.bench import Row, by_turns, printed, within

GAUGES = 10
GOAL = 2.0
LAST = dt.datetime(2026, 5, 6, 11, tzinfo=dt.UTC)
WINDOW = dt.timedelta(hours=3)
BACK = {
    "sqlite": "strftime('%%Y-%%m-%%d %%H:%%M:%%S', '2026-05-06 11:00:00', (-15 * i) || ' minutes')",
    "postgresql": "TIMESTAMPTZ '2026-05-06 11:00:00+00' - i * INTERVAL '15 minutes'",
}
FILL = """WITH RECURSIVE back(i) AS (SELECT 0 UNION ALL SELECT i + 1 FROM back WHERE i < %s)
INSERT INTO beats_reading (gauge_id, at, level_m, source)
SELECT %s, {at}, 0.5 + (i %% 97) / 100.0, 'feed' FROM back"""


class Command(BaseCommand):
    help = (
        "Measure the two hot questions against the same SQL sent by hand, in a database made for it and dropped."
    )

    def add_arguments(self, parser):
        parser.add_argument("--rows", type=int, default=1_000_000, help="readings in all, of ten gauges")
        parser.add_argument("--rounds", type=int, default=400)
        parser.add_argument("--json", action="store_true", help="one object instead of a table")

    def handle(self, *, rows: int, rounds: int, json: bool, **_options):
        if rows < 1000 or rounds < 10:
            raise CommandError("Measure at least 1000 rows in 10 rounds; less says nothing.")
        with tempfile.TemporaryDirectory() as folder:
            found = in_a_database_of_its_own(Path(folder), lambda: _measure(rows, rounds))
        self.stdout.write(printed(found, as_json=json))


def _measure(rows: int, rounds: int) -> list[Row]:
    gauge = _filled(rows)
    first = LAST - WINDOW
    at = connection.ops.adapt_datetimefield_value
    return [
        _compared(
            f"newest level of {rows} readings", rounds,
            lambda: queries.newest_level(gauge.pk, LAST), by_hand(queries.NEWEST, [gauge.pk, at(LAST)]),
        ),
        _compared(
            f"three hours of {rows} readings", rounds,
            lambda: queries.levels_between(gauge.pk, first, LAST),
            by_hand(queries.BETWEEN, [gauge.pk, at(first), at(LAST)]),
        ),
    ]  # fmt: skip


def _filled(rows: int) -> Gauge:
    """One of ten gauges, each with its share of the readings."""
    fishery = Fishery.objects.create(slug="bench", name="Bench", latitude=57.6, longitude=-5.3)
    gauges = [Gauge.objects.create(fishery=fishery, slug=f"gauge-{n}", name="Gauge") for n in range(GAUGES)]
    with connection.cursor() as cursor:
        for gauge in gauges:
            cursor.execute(FILL.format(at=BACK[connection.vendor]), [rows // GAUGES - 1, gauge.pk])
        cursor.execute("ANALYZE")
    return gauges[GAUGES // 2]


def _compared(case: str, rounds: int, ours: Callable, baseline: Callable) -> Row:
    """Medians in microseconds."""
    if len(baseline()) not in (1, 13):  # one, or thirteen quarters of an hour
        raise CommandError(f"{case}: the database does not hold what was put in.")
    value, base = (round(seconds * 1e6, 1) for seconds in by_turns(rounds, ours, baseline))
    return within(GOAL, case, value, "us", base)
