"""manage.py bench_returns: the fish file beside the database's own, the return beside its SQL by hand."""

import csv
import datetime as dt
import io
import multiprocessing
import os
import statistics
import tempfile
import time
from collections.abc import Callable, Iterable
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError
from django.db import connection

from beats.management.own_database import by_hand, in_a_database_of_its_own
from beats.models import Beat, Fishery, Membership, Pool, User
from beats.shared.bench import Row, below, by_turns, printed, within
from sessions.export.columns import COLUMNS, FROM, STANDING
from sessions.export.stream import csv_stream
from sessions.old_books.plan import Plan
from sessions.returns import season_return
from sessions.seasons import season_statistics
from sessions.services.old_books import bring_in

SEASON = 2025
NOW = dt.datetime(2026, 1, 2, 12, tzinfo=dt.UTC)
DAY = {
    "sqlite": "date('2025-02-11', '+' || (i %% 260) || ' days')",
    "postgresql": "DATE '2025-02-11' + (i %% 260)::int",
}
AT = {
    "sqlite": "strftime('%%Y-%%m-%%d %%H:%%M:%%S', '2025-02-11 10:00:00', '+' || (i %% 260) || ' days')",
    "postgresql": "TIMESTAMPTZ '2025-02-11 10:00:00+00' + (i %% 260) * INTERVAL '1 day'",
}
FILL = """WITH RECURSIVE n(i) AS (SELECT 0 UNION ALL SELECT i + 1 FROM n WHERE i < %s)
INSERT INTO fishing_sessions_catch
  (beat_id, pool_id, caught_at, caught_on, kind, fate, weight_kg, length_cm, fly, level_m, water_c,
   request_fingerprint, weight_how, length_how, condition, sex, method, part, tag, scale_sample, note, flag,
   version)
SELECT %s, %s, {at}, {day},
  CASE WHEN i %% 3 = 2 THEN 'sea_trout' WHEN i %% 3 = 0 OR i %% 260 < 79 THEN 'msw' ELSE '1sw' END,
  CASE i %% 20 WHEN 0 THEN 'kept' ELSE 'released' END, {weight}, {length},
  'Size 8 black', 0.5 + (i %% 97) / 100.0, 9.5, '', 'weighed', 'measured', 'fresh', 'hen', 'fly', 'morning', '',
  {no}, 'Long Alder, tail', '', 1 FROM n"""
LENGTH_CM = "(54 + (i %% 240) / 10.0)"
WEIGHT_KG = f"round(CAST({LENGTH_CM} * {LENGTH_CM} * {LENGTH_CM} / 100000.0 AS numeric), 2)"
"""A fresh fish has a condition factor of about 1 (sessions/weights.py), so sizes that go together."""
BY_HAND = """SELECT EXTRACT(MONTH FROM c.caught_on), c.kind, c.fate, count(*), sum(c.weight_kg),
  sum(CASE WHEN c.weight_kg IS NULL THEN 1 ELSE 0 END)
FROM fishing_sessions_catch c JOIN beats_beat b ON b.id = c.beat_id
WHERE b.fishery_id = %s AND c.struck_out_at IS NULL AND c.caught_on >= %s AND c.caught_on <= %s
GROUP BY 1, 2, 3 ORDER BY 1, 2, 3"""


class Command(BaseCommand):
    help = "Measure the fish file and the season's return in a database made for it and dropped."

    def add_arguments(self, parser):
        parser.add_argument("--fish", type=int, default=1_000_000, help="fish in the file")
        parser.add_argument("--season", type=int, default=100_000, help="fish in the return")
        parser.add_argument("--old", type=int, default=50_000, help="fish in an old book brought in")
        parser.add_argument("--json", action="store_true", help="one object instead of a table")

    def handle(self, *, fish: int, season: int, old: int, json: bool, **_options):
        if season < 1000 or fish < season:
            raise CommandError("Measure at least 1000 fish in the return, and no fewer in the file.")
        with tempfile.TemporaryDirectory() as folder:
            rows = in_a_database_of_its_own(Path(folder), lambda: [*_measure(fish, season, old)])
        self.stdout.write(printed(rows, as_json=json))


def _measure(fish: int, season: int, old: int) -> Iterable[Row]:
    large = _filled("large", fish)
    grown = _grown_mib(large)
    water = _filled("season", season)
    yield from _returns(water, season)
    yield from _exports(large, fish, grown)
    yield from _old_book(water, old)


def _filled(slug: str, fish: int) -> Fishery:
    User.objects.get_or_create(email="bench@example.org")
    fishery = Fishery.objects.create(
        slug=slug, name=slug, latitude=57.6, longitude=-5.3, time_zone="Europe/London", district="51"
    )
    beat = Beat.objects.create(
        fishery=fishery, slug="upper", name="Upper", order=1, rods=9, longest_outing_minutes=600, grace_minutes=15,
        lone_grace_minutes=0,
    )  # fmt: skip
    pool = Pool.objects.create(
        beat=beat, slug="long-alder", name="Long Alder", order=1, bank="left", flow_bearing_deg=200, length_m=90,
        width_m=20, depth_m=1.5, velocity_mps=0.8, wading_grade=1,
    )  # fmt: skip
    vendor = connection.vendor
    sql = FILL.format(at=AT[vendor], day=DAY[vendor], no="0" if vendor == "sqlite" else "FALSE",
                      weight=WEIGHT_KG, length=LENGTH_CM)  # fmt: skip
    with connection.cursor() as cursor:
        cursor.execute(sql, [fish - 1, beat.pk, pool.pk])
        cursor.execute("ANALYZE")
    return fishery


def _returns(water: Fishery, fish: int) -> Iterable[Row]:
    sql = BY_HAND.replace("EXTRACT(MONTH FROM c.caught_on)", "CAST(strftime('%%m', c.caught_on) AS INTEGER)")
    asked = [water.pk, f"{SEASON}-01-01", f"{SEASON}-12-31"]
    hand = by_hand(sql if connection.vendor == "sqlite" else BY_HAND, asked)
    ours, base = by_turns(5, lambda: season_return(water, SEASON, now=NOW), hand)
    yield within(2, f"return of {fish} fish", ours, "s", base)
    start = time.perf_counter()
    made = season_statistics(water, SEASON, species="salmon", now=NOW)
    yield Row(f"statistics of {made.overall.fish} salmon", time.perf_counter() - start, "s")


def _old_book(water: Fishery, rows: int) -> Iterable[Row]:
    """An owner's file, from its bytes to the fish in the book. The goal is ours: a third of a request's 60 s."""
    owner = User.objects.get(email="bench@example.org")
    Membership.objects.create(user=owner, fishery=water, role=Membership.Role.OWNER)
    day = dt.date(1990, 2, 11)
    kinds = ("msw", "1sw", "sea_trout")
    lines = [
        f"{day + dt.timedelta(days=n % 12_000)},{kinds[n % 3]},{2 + n % 500 / 100:.2f},Long Alder"
        for n in range(rows)
    ]
    data = "\r\n".join(["Day,Kind,Kg,Pool", *lines]).encode()
    columns = {"caught_on": "Day", "kind": "Kind", "weight": "Kg", "pool": "Pool"}
    plan = Plan(what="fish", columns=columns, fixed={"fate": "released"})
    start = time.perf_counter()
    bring_in(water, data, plan, name="old.csv", by=owner, now=NOW)
    yield below(20, f"old book of {rows} fish", time.perf_counter() - start, "s")


def _grown_mib(water: Fishery) -> float:
    """What a process that has done nothing yet grows by while it writes the whole file."""
    fork = multiprocessing.get_context("fork")
    told, tell = fork.Pipe(duplex=False)

    def run() -> None:
        connection.ensure_connection()
        before, most = _resident_mib(), 0.0
        for number, _ in enumerate(csv_stream(water)):
            if number % 20 == 0:
                most = max(most, _resident_mib() - before)
        tell.send(most)

    connection.close()
    child = fork.Process(target=run)
    child.start()
    child.join()
    if child.exitcode:
        raise CommandError("The file could not be written; see above.")
    return told.recv()


def _exports(water: Fishery, fish: int, grown: float) -> Iterable[Row]:
    first = statistics.median(_first_byte(water) for _ in range(3))

    def ours() -> None:
        for _ in csv_stream(water):
            pass

    plain = "SELECT " + ", ".join(column.source for column in COLUMNS)
    sql = f"{plain} {FROM} WHERE b.fishery_id = {water.pk} AND {STANDING} ORDER BY c.id"
    own, times = (_copy_of(sql), 1.5) if connection.vendor == "postgresql" else (_csv_of(sql), 2.0)
    value, base = by_turns(3, ours, own)
    yield within(times, f"file of {fish} fish", value, "s", base)
    yield below(0.2, "first rows of it", first, "s")
    yield below(20, "memory over idle", grown, "MiB")


def _first_byte(water: Fishery) -> float:
    start = time.perf_counter()
    blocks = csv_stream(water)
    next(blocks)  # the header, known without asking
    next(blocks)
    spent = time.perf_counter() - start
    blocks.close()
    return spent


def _copy_of(sql: str) -> Callable[[], None]:
    def run() -> None:
        with connection.cursor() as cursor, cursor.copy(f"COPY ({sql}) TO STDOUT (FORMAT csv)") as copy:
            for _ in copy:
                pass

    return run


def _csv_of(sql: str) -> Callable[[], None]:
    """The bare cursor and the csv module."""

    def run() -> None:
        with connection.cursor() as cursor:
            cursor.execute(sql)
            out = csv.writer(io.StringIO())
            while rows := cursor.cursor.fetchmany(2000):
                out = csv.writer(io.StringIO())
                out.writerows(rows)

    return run


def _resident_mib() -> float:
    pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") / 2**20
