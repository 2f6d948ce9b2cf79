"""manage.py bench_watch: a thousand alarms due in one second, four sweepers at once, an idle sweep, and a first
alarm while mail is slow."""

import datetime as dt
import multiprocessing
import statistics
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError
from django.db import connection

from beats.management.own_database import in_a_database_of_its_own
from beats.models import Beat, Fishery, Membership, User
from beats.shared.bench import Row, below, printed
from bookings.models import Guest
from safety.benches import slow_mail
from safety.models import Alarm, Delivery
from safety.services.sweep import sweep
from sessions.models import Outing

NOON = dt.datetime(2026, 5, 6, 11, tzinfo=dt.UTC)
HOUR = dt.timedelta(hours=1)
SWEEPERS = 4
FISHERIES = 20


class Command(BaseCommand):
    help = (
        "Measure the sweep in a database made for it and dropped. RODTALLY_DEMO_DATABASE_URL names another server."
    )

    def add_arguments(self, parser):
        parser.add_argument("--out", type=int, default=10_000, help="outings open when alarms are raised")
        parser.add_argument("--due", type=int, default=1000, help="of them due in the same second")
        parser.add_argument("--idle", type=int, default=20_000, help="outings open when nothing is due")
        parser.add_argument("--letters", type=int, default=5000, help="permits that wait while mail is slow")
        parser.add_argument("--all-clears", type=int, default=2000, help="all-clears that wait while mail is slow")
        parser.add_argument("--drills", type=int, default=400, help="drills that wait while mail is slow")
        parser.add_argument("--json", action="store_true", help="one object instead of a table")

    def handle(
        self, *, out: int, due: int, idle: int, letters: int, all_clears: int, drills: int, json: bool, **_options
    ):
        if not 1 <= due <= out <= idle:
            raise CommandError("Have at least one due, no more due than out, and no more out than idle.")
        with tempfile.TemporaryDirectory() as folder:
            waits = {"letters": letters, "all_clears": all_clears, "drills": drills}
            rows = in_a_database_of_its_own(
                Path(folder), lambda: _measure(out, due, idle) + slow_mail.rows(**waits, engine=connection.vendor)
            )
        self.stdout.write(printed(rows, as_json=json))


def _measure(out: int, due: int, idle: int) -> list[Row]:
    beats = _water()
    _go_out(beats, out - due, NOON + 12 * HOUR)
    _go_out(beats, due, NOON + 4 * HOUR)
    _analyse()
    # On SQLite there is one writer at a time, so one sweeper is the honest figure there.
    sweepers = SWEEPERS if connection.vendor == "postgresql" else 1
    spent = _at_once(sweepers, lambda: sweep(now=NOON + 4 * HOUR))
    alarms, messages = Alarm.objects.count(), Delivery.objects.count()
    if (alarms, messages) != (due, 4 * due):
        raise CommandError(f"{alarms} alarms and {messages} messages were written, not {due} and {4 * due}.")
    engine = connection.vendor
    rows = [below(2, f"{due} due of {out} out, {sweepers} sweepers, {engine}", round(spent, 3), "s")]
    _go_out(beats, idle - out + due, NOON + 12 * HOUR)
    Alarm.objects.update(next_at=None, cleared_at=NOON + 4 * HOUR)
    Outing.objects.filter(alarm_at__lte=NOON + 4 * HOUR).update(checked_out_at=NOON + 4 * HOUR)
    _analyse()
    asked, whole = _idle(NOON + 4 * HOUR)
    rows.append(below(1, f"idle sweep, {idle} out: in the database, {engine}", round(asked, 3), "ms"))
    rows.append(Row(f"idle sweep, {idle} out: all of it, {engine}", round(whole, 3), "ms"))
    return rows


def _water() -> list[Beat]:
    """Twenty fisheries, each with a beat of the usual policy, an owner and two ghillies."""
    beats = []
    for number in range(FISHERIES):
        fishery = Fishery.objects.create(
            slug=f"bench-{number}", name="Bench", river="Bench", time_zone="Europe/London", district="46",
            latitude=57.6, longitude=-5.3,
        )  # fmt: skip
        for who, role in enumerate(("owner", "ghillie", "ghillie")):
            user = User.objects.create(email=f"keeper{number}-{who}@bench.example", name="Keeper")
            Membership.objects.create(user=user, fishery=fishery, role=role)
        beats.append(
            Beat.objects.create(
                fishery=fishery, slug="bench", name="Bench", order=1, rods=60, longest_outing_minutes=1440,
                grace_minutes=0, lone_grace_minutes=0,
            )
        )  # fmt: skip
    return beats


def _go_out(beats: list[Beat], count: int, due: dt.datetime) -> None:
    guests = Guest.objects.bulk_create(
        [Guest(fishery_id=beats[n % FISHERIES].fishery_id, name=f"Guest {n}") for n in range(count)],
        batch_size=500,
    )
    Outing.objects.bulk_create(
        [
            Outing(
                guest=guest, beat=beats[n % FISHERIES], alone=True, checked_in_at=NOON, heard_at=NOON,
                due_back_at=due, alarm_at=due, warn_at=due + HOUR, contact_due_at=NOON + 10 * HOUR,
                contact_number=1,
            )
            for n, guest in enumerate(guests)
        ],
        batch_size=500,
    )  # fmt: skip


def _analyse() -> None:
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")


def _at_once(count: int, act: Callable[[], object]) -> float:
    """Seconds from the start of all until the last is done, each a process with a connection of its own."""
    fork = multiprocessing.get_context("fork")
    start = fork.Barrier(count + 1)

    def run() -> None:
        connection.ensure_connection()
        start.wait()
        act()

    connection.close()
    sweepers = [fork.Process(target=run) for _ in range(count)]
    for sweeper in sweepers:
        sweeper.start()
    start.wait()
    began = time.perf_counter()
    for sweeper in sweepers:
        sweeper.join()
    spent = time.perf_counter() - began
    if any(sweeper.exitcode for sweeper in sweepers):
        raise CommandError("A sweeper failed; see what it said above.")
    return spent


def _idle(now: dt.datetime, rounds: int = 60) -> tuple[float, float]:
    """Medians, in milliseconds: what the database took of a sweep that finds nothing, and the whole sweep."""
    asked, whole = [], []
    for number in range(rounds):
        spent = 0.0

        def timed(execute, sql, params, many, context):
            nonlocal spent
            began = time.perf_counter()
            try:
                return execute(sql, params, many, context)
            finally:
                spent += time.perf_counter() - began

        began = time.perf_counter()
        with connection.execute_wrapper(timed):
            sweep(now=now + number * dt.timedelta(seconds=10))
        whole.append((time.perf_counter() - began) * 1000)
        asked.append(spent * 1000)
    return statistics.median(asked), statistics.median(whole)
