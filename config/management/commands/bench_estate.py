"""manage.py bench_estate: one fishery among hundreds beside the same one alone, and what the wall costs."""

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
from beats.models import Membership, User
from beats.shared import wall
from beats.shared.bench import Row, below, printed, spent, within
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
        with plainly, tempfile.TemporaryDirectory() as folder:
            alone = in_a_database_of_its_own(Path(folder), lambda: _Measured(1, beats, rounds).reads())
            found = in_a_database_of_its_own(Path(folder), lambda: [*_rows(fisheries, beats, rounds, alone)])
        self.stdout.write(printed(found, as_json=json))


def _rows(fisheries: int, beats: int, rounds: int, alone: dict[str, float]) -> Iterable[Row]:
    measured = _Measured(fisheries, beats, rounds)
    yield Row(f"an estate of {fisheries} x {beats}, {connection.vendor}", measured.estate.rows, "rows")
    among = measured.reads()
    for name, figure in among.items():
        yield within(AMONG, f"{name}: among {fisheries} fisheries, beside alone", figure, "ms", alone[name])
    if wall.stands(connection):
        behind, without = measured.behind_and_without()
        for name, figure in behind.items():
            yield within(BEHIND, f"{name}: behind the wall, beside without it", figure, "ms", without[name])
    for name, figure in measured.reads_of_an_agent().items():
        yield within(AGENT, f"{name}: an agent of {WATERS_OF_AN_AGENT} fisheries", figure, "ms", among[name])
    yield below(20, "idle sweep", measured.median_ms(lambda: sweep(now=measured.now)), "ms")


class _Measured:
    def __init__(self, fisheries: int, beats: int, rounds: int) -> None:
        self.now, self.rounds = timezone.now(), rounds
        self.estate: Estate = build(fisheries, beats, now=self.now)
        self.place = {
            "slug": self.estate.fisheries[0].slug,
            "beat": self.estate.beats[0].pk,
            "month": f"{self.now:%Y-%m}",
        }
        self.owner = self._client(self.estate.owners[0])

    def reads(self) -> dict[str, float]:
        """Milliseconds of each read, for the owner of the first fishery."""
        return {name: self.median_ms(self._get(self.owner, path)) for name, path in READS.items()}

    def reads_of_an_agent(self) -> dict[str, float]:
        agent = User.objects.create(email="agent@estate.example", name="Agent")
        for fishery in self.estate.fisheries[:WATERS_OF_AN_AGENT]:
            Membership.objects.create(user=agent, fishery=fishery, role="owner")
        client = self._client(agent)
        return {
            name: self.median_ms(self._get(client, path)) for name, path in READS.items() if "page_size" in path
        }

    def behind_and_without(self) -> tuple[dict[str, float], dict[str, float]]:
        """By turns, so that a busy machine slows both."""
        behind, without = {}, {}
        for name, path in READS.items():
            act, ours, base = self._get(self.owner, path), [], []
            for _ in range(self.rounds):
                ours.append(1000 * spent(act))
                connection.has_wall = False
                base.append(1000 * spent(act))
                connection.has_wall = True
            behind[name], without[name] = (round(statistics.median(figures), 3) for figures in (ours, base))
        return behind, without

    def median_ms(self, act: Callable[[], object]) -> float:
        act()
        return round(statistics.median(1000 * spent(act) for _ in range(self.rounds)), 3)

    def _get(self, client: Client, path: str) -> Callable[[], object]:
        address = f"/api/v1/{path.format(**self.place)}"

        def get() -> None:
            if (status := client.get(address).status_code) != 200:
                raise CommandError(f"{address} answered {status}: nothing was measured.")

        return get

    def _client(self, user: User) -> Client:
        token = issue_token(user, label="bench", now=self.now)
        return Client(headers={"Authorization": f"Bearer {token}"})
