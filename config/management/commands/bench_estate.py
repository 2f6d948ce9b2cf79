"""manage.py bench_estate: one fishery among hundreds beside the same one alone, and what the wall costs."""

import gc
import statistics
import tempfile
from collections.abc import Callable, Iterable
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError
from django.db import connection
from django.test import Client, override_settings
from django.utils import timezone

from beats.authentication import issue_token
from beats.management.own_database import in_a_database_of_its_own, within_database
from beats.models import Membership, User
from beats.shared import wall
from beats.shared.bench import Row, below, by_turns, printed, spent, within
from config.benches.estate import Estate, build
from safety.services.sweep import sweep

AMONG, BEHIND, AGENT = 2, 1.5, 3
"""Goals, in times: among hundreds beside alone, behind the wall beside without it, an agent beside an owner."""
WATERS_OF_AN_AGENT = 5
READS = {
    "beats": "beats/?page_size=100",
    "outings": "outings/?page_size=100",
    "turns": "turns/?page_size=100",
    "lets": "lets/?page_size=100",
    "rod-days": "rod-days/?page_size=100",
    "fish": "catches/?page_size=100",
    "guests": "guests/?page_size=100",
    "conditions of a beat": "beats/{beat}/conditions/",
    "tally": "fisheries/{slug}/tally/",
    "month": "fisheries/{slug}/month/?month={month}",
}


class Command(BaseCommand):
    help = "Measure reads and sweeps of an estate of 200 fisheries with 20 beats each."

    def add_arguments(self, parser):
        parser.add_argument("--fisheries", type=int, default=200)
        parser.add_argument("--beats", type=int, default=20, help="of each fishery")
        parser.add_argument("--rounds", type=int, default=15)
        parser.add_argument("--json", action="store_true", help="one object instead of a table")

    def handle(self, *, fisheries: int, beats: int, rounds: int, json: bool, **_options):
        if not (2 <= fisheries <= 1000 and 1 <= beats <= 100 and rounds >= 3):
            raise CommandError("Measure 2 to 1000 fisheries of 1 to 100 beats, in 3 rounds or more.")
        plainly = override_settings(ALLOWED_HOSTS=["testserver"], SECURE_SSL_REDIRECT=False)
        with plainly, tempfile.TemporaryDirectory() as name:
            folder = Path(name)

            def beside() -> list[Row]:
                alone = _Measured(1, beats, rounds)
                return in_a_database_of_its_own(folder, lambda: [*_rows(fisheries, beats, rounds, alone)])

            found = in_a_database_of_its_own(folder, beside)
        self.stdout.write(printed(found, as_json=json))


def _rows(fisheries: int, beats: int, rounds: int, alone: "_Measured") -> Iterable[Row]:
    measured = _Measured(fisheries, beats, rounds)
    yield Row(f"an estate of {fisheries} x {beats}, {connection.vendor}", measured.estate.rows, "rows")
    for name in READS:
        figure, base = measured.beside_alone(name, alone)
        yield within(AMONG, f"{name}: among {fisheries} fisheries, beside alone", figure, "ms", base)
    if wall.stands(connection):
        for name in READS:
            figure, base = measured.behind_and_without(name)
            yield within(BEHIND, f"{name}: behind the wall, beside without it", figure, "ms", base)
    agent = measured.agent()
    for name, path in READS.items():
        if "page_size" in path:
            figure, base = measured.ms_by_turns(measured.get(agent, name), measured.get(measured.owner, name))
            yield within(AGENT, f"{name}: an agent of {WATERS_OF_AN_AGENT} fisheries", figure, "ms", base)
    (idle,) = measured.ms_by_turns(lambda: sweep(now=measured.now))
    yield below(20, "idle sweep", idle, "ms")


class _Measured:
    """An estate in the database that is asked now, and clients to read it."""

    def __init__(self, fisheries: int, beats: int, rounds: int) -> None:
        self.now, self.rounds, self.database = timezone.now(), rounds, connection.settings_dict["NAME"]
        self.estate: Estate = build(fisheries, beats, now=self.now)
        self.place = {
            "slug": self.estate.fisheries[0].slug,
            "beat": self.estate.beats[0].pk,
            "month": f"{self.now:%Y-%m}",
        }
        self.owner = self._client(self.estate.owners[0])
        gc.collect()
        gc.freeze()  # a service has not built its own estate: what that left behind is no part of a read

    def beside_alone(self, name: str, alone: "_Measured") -> tuple[float, float]:
        """Milliseconds of a read here and there, by turns, each on a connection that has been used once."""
        ours, base = self.get(self.owner, name), alone.get(alone.owner, name)
        here, there = [], []
        for _ in range(self.rounds):
            with within_database(self.database):
                ours()
                here.append(spent(ours))
            with within_database(alone.database):
                base()
                there.append(spent(base))
        return _middle_ms(here), _middle_ms(there)

    def behind_and_without(self, name: str) -> tuple[float, float]:
        act = self.get(self.owner, name)

        def without() -> None:
            connection.has_wall = False
            try:
                act()
            finally:
                connection.has_wall = True

        behind, bare = self.ms_by_turns(act, without)
        return behind, bare

    def ms_by_turns(self, *acts: Callable[[], object]) -> list[float]:
        for act in acts:
            act()
        return [round(1000 * seconds, 3) for seconds in by_turns(self.rounds, *acts)]

    def agent(self) -> Client:
        agent = User.objects.create(email="agent@estate.example", name="Agent")
        for fishery in self.estate.fisheries[:WATERS_OF_AN_AGENT]:
            Membership.objects.create(user=agent, fishery=fishery, role="owner")
        return self._client(agent)

    def get(self, client: Client, name: str) -> Callable[[], object]:
        address = f"/api/v1/{READS[name].format(**self.place)}"

        def get() -> None:
            if (status := client.get(address).status_code) != 200:
                raise CommandError(f"{address} answered {status}: nothing was measured.")

        return get

    def _client(self, user: User) -> Client:
        token = issue_token(user, label="bench", now=self.now)
        return Client(headers={"Authorization": f"Bearer {token}"})


def _middle_ms(seconds: list[float]) -> float:
    return round(1000 * statistics.median(seconds), 3)
