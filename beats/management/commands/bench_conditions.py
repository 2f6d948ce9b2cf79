"""manage.py bench_conditions: what the day of a beat of thirty pools costs, to reckon and to ask for."""

import datetime as dt
import tempfile
import time
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError
from django.db import connection
from django.test.utils import CaptureQueriesContext
from rest_framework.renderers import JSONRenderer

from beats.management.own_database import in_a_database_of_its_own
from beats.models import Beat, Fishery, Gauge, Observation, Pool, Reading, TideWater
from beats.queries import facts_of_day
from beats.shared.bench import Row, below, by_turns, printed
from beats.shared.plain import plain
from beats.water.today import conditions, cycle_of

GOAL_MS = 10.0
QUESTIONS = 3
NOW = dt.datetime(2026, 5, 6, 11, tzinfo=dt.UTC)
QUARTER = dt.timedelta(minutes=15)
HALF_TIDE = dt.timedelta(hours=6, minutes=12)


class Command(BaseCommand):
    help = "Measure a beat's day: computation against 10 ms and one round trip, and the questions it asks."

    def add_arguments(self, parser):
        parser.add_argument("--json", action="store_true", help="one object instead of a table")
        parser.add_argument("--pools", type=int, default=30)
        parser.add_argument("--rounds", type=int, default=60)

    def handle(self, *, json: bool, pools: int, rounds: int, **_options):
        if not 1 <= pools <= 500 or rounds < 5:
            raise CommandError("Measure 1 to 500 pools in 5 rounds or more; less says nothing.")
        with tempfile.TemporaryDirectory() as folder:
            rows = in_a_database_of_its_own(Path(folder), lambda: _measure(pools, rounds))
        self.stdout.write(printed(rows, as_json=json))


def _measure(pools: int, rounds: int) -> list[Row]:
    beat = Beat.objects.select_related("fishery", "gauge").get(pk=_filled(pools).pk)
    with CaptureQueriesContext(connection) as asked:
        facts = facts_of_day(beat, day=None, now=NOW)
    told = conditions(facts)
    if len(told.pools) != pools or any(pool.flow.depth_m is None for pool in told.pools):
        raise CommandError("The beat's day is not full: nothing was measured.")
    taken = by_turns(
        rounds,
        _round_trip,
        lambda: conditions(facts),
        lambda: (cycle_of.cache_clear(), conditions(facts)),
        lambda: facts_of_day(beat, day=None, now=NOW),
        lambda: JSONRenderer().render(plain(told)),
        clock=time.process_time,
    )
    trip, reckoned, anew, gathered, written = (round(1000 * seconds, 4) for seconds in taken)
    size = f"{pools} pools"
    return [
        below(GOAL_MS, f"computation of a day, {size}, beside one round trip", reckoned, "ms", trip),
        below(QUESTIONS + 1, f"questions to the database, {size}", len(asked), "questions"),
        Row(f"the same with springs and neaps reckoned anew, {size}", anew, "ms", trip),
        Row(f"those questions, {size}, beside one round trip", gathered, "ms", trip),
        Row(f"the answer as JSON, {size}, beside one round trip", written, "ms", trip),
    ]


def _round_trip() -> None:
    with connection.cursor() as cursor:
        cursor.execute("SELECT 1")
        cursor.fetchall()


def _filled(pools: int) -> Beat:
    """A tidal beat with a day of readings, a tide table, and a keeper's note: nothing is left unknown."""
    fishery = Fishery.objects.create(
        slug="bench", name="Bench", district="51", time_zone="Europe/London", latitude=57.6, longitude=-5.3
    )
    gauge = Gauge.objects.create(
        fishery=fishery, slug="bridge", name="Bridge", typical_low_m=0.3, typical_high_m=1.4
    )
    beat = Beat.objects.create(
        fishery=fishery, slug="bench", name="Bench", order=1, rods=8, tidal=True, gauge=gauge, rise_m_per_h=0.1,
        longest_outing_minutes=600, grace_minutes=15, lone_grace_minutes=0,
    )  # fmt: skip
    Reading.objects.bulk_create(
        Reading(gauge=gauge, at=NOW - n * QUARTER, level_m=0.6 + (n % 7) / 100, water_c=9 + (n % 5) / 10)
        for n in range(150)
    )
    TideWater.objects.bulk_create(
        TideWater(
            beat=beat, at=NOW + n * HALF_TIDE, height_m=1.0 if n % 2 else 4.5, kind="low" if n % 2 else "high"
        )
        for n in range(-8, 9)
    )
    Observation.objects.create(
        beat=beat, at=NOW - QUARTER, wind_from_deg=240, wind_mps=6, clarity="clear", water_c=9
    )
    Pool.objects.bulk_create(_pool(beat, number) for number in range(pools))
    return beat


def _pool(beat: Beat, number: int) -> Pool:
    return Pool(
        beat=beat, slug=f"pool-{number}", name=f"Pool {number}", order=number + 1, bank="left", length_m=100,
        width_m=20 + number, depth_m=1 + number / 20, velocity_mps=0.4 + number / 60, reference_level_m=0.6,
        wading_grade=number % 4, flow_bearing_deg=(number * 37) % 360, cut_off_above_m=3.5,
        features=["big stones", "edge of the fast stream"],
        tackle_words={"fly": {"text": "a small double", "by": "The ghillie"}},
    )  # fmt: skip
