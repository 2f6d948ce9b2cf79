"""manage.py bench_reads: lists of the API beside bare views that say the same bytes, and how they grow."""

import datetime as dt
import math
import statistics
import tempfile
from collections.abc import Callable, Iterable
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError
from django.db import connection
from django.test import Client, override_settings
from django.utils import timezone

from beats.authentication import issue_token
from beats.management.own_database import in_a_database_of_its_own
from beats.models import Beat, DayPart, Fishery, Gauge, Membership, Pool, Reading, User
from beats.shared.bench import Row, below, printed, spent, within
from bookings.models import Guest
from safety.services.pulse import beat_pulse
from safety.services.sweep import sweep
from sessions.models import Outing, Rota, Turn

PAGE = 100
TIMES = 3
LISTS = {"outings": "outings/", "turns": "turns/", "readings": "gauges/{gauge}/readings/"}
GROWTH = (1, 10, 100)
DAY = dt.timedelta(days=1)


class Command(BaseCommand):
    help = "Measure lists against bare views, and how reading grows with 1, 10 and 100 times the data."

    def add_arguments(self, parser):
        parser.add_argument("--rounds", type=int, default=40)
        parser.add_argument("--rows", type=int, default=1000, help="of each kind at once the data")
        parser.add_argument("--json", action="store_true", help="one object instead of a table")

    def handle(self, *, rounds: int, rows: int, json: bool, **_options):
        if rounds < 5 or not 100 <= rows <= 5000:
            raise CommandError("Measure 5 rounds or more, of 100 to 5000 rows.")
        plainly = override_settings(ALLOWED_HOSTS=["testserver"], SECURE_SSL_REDIRECT=False)
        with plainly, tempfile.TemporaryDirectory() as folder:
            found = in_a_database_of_its_own(Path(folder), lambda: [*_Bench(rounds, rows).measured()])
        self.stdout.write(printed(found, as_json=json))


class _Bench:
    def __init__(self, rounds: int, rows: int) -> None:
        self.rounds, self.rows, self.now = rounds, rows, timezone.now()
        self.fishery = Fishery.objects.create(
            slug="bench", name="Bench", river="Bench", time_zone="Europe/London", district="46", latitude=57.6,
            longitude=-5.3,
        )  # fmt: skip
        owner = User.objects.create(email="owner@bench.example", name="Owner")
        Membership.objects.create(user=owner, fishery=self.fishery, role="owner")
        self.beat = Beat.objects.create(
            fishery=self.fishery, slug="b", name="Beat", order=1, rods=60, longest_outing_minutes=600,
            grace_minutes=0, lone_grace_minutes=0,
        )  # fmt: skip
        self.pool = Pool.objects.create(
            beat=self.beat, slug="p", name="Pool", order=1, bank="left", flow_bearing_deg=1, length_m=90,
            width_m=20, depth_m=1.5, velocity_mps=0.8, wading_grade=1,
        )  # fmt: skip
        self.part = DayPart.objects.create(
            fishery=self.fishery, slug="am", name="Morning", starts=dt.time(9), ends=dt.time(13)
        )
        self.gauge = Gauge.objects.create(fishery=self.fishery, slug="g", name="Bridge", stale_after_minutes=60)
        self.guest = Guest.objects.create(fishery=self.fishery, name="Guest")
        self.client = Client(headers={"Authorization": f"Bearer {issue_token(owner, label='b', now=self.now)}"})

    def measured(self) -> Iterable[Row]:
        self.fill(PAGE)
        for name, address in LISTS.items():
            yield self.beside_bare(name, f"/api/v1/{address.format(gauge=self.gauge.pk)}?page_size={PAGE}")
        taken: dict[str, list[float]] = {}
        there = PAGE
        for times in GROWTH:
            self.fill(times * self.rows - there)
            there = times * self.rows
            for name, act in self.grown().items():
                taken.setdefault(name, []).append(self.median(act))
        for name, figures in taken.items():
            told = ", ".join(f"{1000 * figure:.2f}" for figure in figures)
            exponent = math.log(figures[-1] / figures[0]) / math.log(GROWTH[-1])
            yield below(0.2, f"{name}: {told} ms at 1, 10, 100 x {self.rows} rows", round(exponent, 3), "exponent")

    def beside_bare(self, name: str, address: str) -> Row:
        bare = Client()
        with override_settings(ROOT_URLCONF="config.benches.bare"):
            wanted = bare.get(f"/{name}/").content
        if self.client.get(address).content != wanted:
            raise CommandError(f"The bare view of {name} does not say the bytes of the API: nothing was measured.")
        ours, base = [], []
        for _ in range(self.rounds):  # by turns, so that a busy machine slows both
            self.client.get(address)  # a change of addresses is paid for by a question that does not count
            ours.append(spent(lambda: self.client.get(address)))
            with override_settings(ROOT_URLCONF="config.benches.bare"):
                bare.get(f"/{name}/")
                base.append(spent(lambda: bare.get(f"/{name}/")))
        value, baseline = statistics.median(ours) * 1000, statistics.median(base) * 1000
        return within(
            TIMES, f"{PAGE} {name} a page, {connection.vendor}", round(value, 3), "ms", round(baseline, 3)
        )

    def grown(self) -> dict[str, Callable[[], object]]:
        def get(address: str) -> Callable[[], object]:
            return lambda: self.client.get(f"/api/v1/{address}")

        return {
            "page of outings": get("outings/?page_size=100"),
            "page of turns": get("turns/?page_size=100"),
            "newest readings": get(f"gauges/{self.gauge.pk}/readings/?page_size=100"),
            "tally of who is out": get("fisheries/bench/tally/"),
            "idle sweep": lambda: sweep(now=self.now),
        }

    def median(self, act: Callable[[], object]) -> float:
        act()
        return statistics.median(spent(act) for _ in range(max(5, self.rounds // 4)))

    def fill(self, count: int) -> None:
        """So many more of each kind; of outings all but the first ten are over, as in a season's book."""
        start = Reading.objects.count()
        past = self.now - 400 * DAY
        Outing.objects.bulk_create([self._outing(past, start + number) for number in range(count)], batch_size=500)
        rotas = Rota.objects.bulk_create(
            [
                Rota(
                    beat=self.beat,
                    first_on=(past + (start + n) * DAY).date(),
                    version=1,
                    status="published",
                    certificate={},
                    made_at=past,
                )
                for n in range(0, count, 10)
            ]
        )
        Turn.objects.bulk_create(
            [
                Turn(rota=rotas[n // 10], day=rotas[n // 10].first_on, part=self.part, rod=n % 10 + 1,
                     guest=self.guest, pool=self.pool)
                for n in range(count)
            ], batch_size=500,
        )  # fmt: skip
        minute = dt.timedelta(minutes=1)
        Reading.objects.bulk_create(
            [
                Reading(gauge=self.gauge, at=past + (start + n) * minute, level_m=0.5, source="hand")
                for n in range(count)
            ], batch_size=500,
        )  # fmt: skip
        with connection.cursor() as cursor:
            cursor.execute("ANALYZE")
        beat_pulse("sweep", now=self.now)

    def _outing(self, past: dt.datetime, number: int) -> Outing:
        at, due = past + number * dt.timedelta(minutes=5), self.now + 5 * dt.timedelta(hours=1)
        return Outing(
            guest=self.guest, beat=self.beat, pool=self.pool, alone=False, party=2, checked_in_at=at, heard_at=at,
            due_back_at=due, alarm_at=due, checked_out_at=at + dt.timedelta(hours=1), code="4821",
        )  # fmt: skip
