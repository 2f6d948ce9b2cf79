"""The opening-morning rush: many clients at the same rod-days, over the service's own HTTP stack.

Every rod-day is sold once, every loser is told which days are gone and how many rods are left, nothing
deadlocks and nothing breaks; and the history of each day could have happened one call at a time.
"""

import datetime as dt
import random
import re
import threading
import time
from collections import defaultdict
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field

import pytest
from django.db import connection

from bookings.models import Let, RodDay
from tests.factories import BeatFactory, GuestFactory, client_of, keeper
from tests.races.history import Act, possible

pytestmark = [pytest.mark.races, pytest.mark.django_db(transaction=True)]

DAYS = [dt.date(2099, 5, 4) + dt.timedelta(days=n) for n in (0, 1, 2, 3, 4, 5, 7, 8, 9, 10)]
RODS = 5  # ten days of five rods are fifty rod-days
LEFT = re.compile(r"(\d+) of 5 rods free\.")


@dataclass
class Water:
    """One beat, its server threads and what every client saw."""

    beat: object
    booker: int
    owner: object
    statuses: dict[int, int] = field(default_factory=lambda: defaultdict(int))
    acts: dict[dt.date, list[Act]] = field(default_factory=lambda: defaultdict(list))
    lock: threading.Lock = field(default_factory=threading.Lock)

    def ask(self, client, chance):
        """One try: some days, some rods; a winner sometimes gives back. What came is written down."""
        at = chance.randrange(len(DAYS) - 1)
        first, last = DAYS[at], DAYS[at + (chance.random() < 0.5 and at != 5)]
        body = {"beat": self.beat.pk, "booker": self.booker, "rods": chance.choice((1, 1, 2)),
                "first_on": str(first), "last_on": str(last)}  # fmt: skip
        begun = time.monotonic()
        answer = client.post("/api/v1/lets/", body, format="json")
        ended = time.monotonic()
        told = answer.json()
        if answer.status_code == 201:
            rows = list(RodDay.objects.filter(let=told["id"]).values_list("day", "rod"))
            self.won(begun, ended, rows, answer.status_code)
            if chance.random() < 0.3:
                self.give_back(client, told["id"], rows)
        else:
            self.lost(begun, ended, answer.status_code, told)

    def won(self, begun, ended, rows, status):
        self.note(status, {day: Act(begun, ended, "claim", rods) for day, rods in _by_day(rows).items()})

    def lost(self, begun, ended, status, told):
        left = {day: LEFT.fullmatch(texts[0]) for day, texts in told.get("errors", {}).items()}
        assert left, told
        assert all(left.values()), told
        told_on = {dt.date.fromisoformat(day): int(found[1]) for day, found in left.items()}
        self.note(status, {day: Act(begun, ended, "refused", left=count) for day, count in told_on.items()})

    def give_back(self, client, let, rows):
        begun = time.monotonic()
        answer = client.post(f"/api/v1/lets/{let}/cancel/")
        ended = time.monotonic()
        acts = {day: Act(begun, ended, "release", rods) for day, rods in _by_day(rows).items()}
        self.note(answer.status_code, acts)

    def note(self, status, acts):
        with self.lock:
            self.statuses[status] += 1
            for day, act in acts.items():
                self.acts[day].append(act)


def _by_day(rows):
    found = defaultdict(set)
    for day, rod in rows:
        found[day].add(rod)
    return {day: frozenset(rods) for day, rods in found.items()}


def rush(water, *, clients, tries, servers):
    """Each client makes its tries one after the other; so many are served at once."""
    tokens = [client_of(water.owner) for _ in range(8)]

    def serve(number):
        chance = random.Random(number)
        try:
            for _ in range(tries):
                water.ask(tokens[number % len(tokens)], chance)
        finally:
            connection.close()

    with ThreadPoolExecutor(servers) as threads:
        list(threads.map(serve, range(clients)))


def judge(water):
    assert set(water.statuses) == {200, 201, 409}
    for day in DAYS:
        assert possible(water.acts[day], on_beat=RODS), day
    stand = RodDay.objects.filter(beat=water.beat)
    assert stand.count() == stand.values("day", "rod").distinct().count() <= RODS * len(DAYS)
    assert not stand.exclude(let__status=Let.Status.CONFIRMED).exists()
    whole = [let.rod_days.count() == let.rods * ((let.last_on - let.first_on).days + 1)
             for let in Let.objects.filter(status=Let.Status.CONFIRMED)]  # fmt: skip
    assert all(whole)


@pytest.fixture
def water():
    beat = BeatFactory(rods=RODS)
    return Water(beat, GuestFactory(fishery=beat.fishery).pk, keeper(beat.fishery))


def test_a_small_rush_sells_every_rod_day_once_and_tells_every_loser(water):
    rush(water, clients=24, tries=6, servers=12)
    judge(water)
    assert sum(water.statuses.values()) == 24 * 6 + water.statuses[200]


@pytest.mark.long
def test_two_hundred_clients_try_at_once(water):
    """Twenty tries each where rows are locked one by one; SQLite has one writer, and a sixth says as much."""
    tries = 20 if connection.vendor == "postgresql" else 3
    rush(water, clients=200, tries=tries, servers=24)
    judge(water)
    assert sum(water.statuses.values()) == 200 * tries + water.statuses[200]
