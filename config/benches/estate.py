"""A generated estate: many fisheries of many beats, each with a week of lets, a rota, people out and a book."""

import datetime as dt
from dataclasses import dataclass
from itertools import islice
from typing import Any

from django.db import connection

from beats.models import Beat, DayPart, Fishery, Gauge, Membership, Pool, Reading, User
from bookings.models import Guest, Let, RodDay
from safety.services.pulse import beat_pulse
from sessions.models import Catch, Outing, Rota, Turn

DAY, HOUR = dt.timedelta(days=1), dt.timedelta(hours=1)
POOLS, RODS, READINGS = 6, 4, 200
PAST, OUT, FISH = 10, 2, 5
"""Of each fishery: readings. Of each beat: pools, rods, outings over, rods out (each a guest), and fish."""


@dataclass(frozen=True)
class Estate:
    """The owner and the first beat of each fishery, and how many rows were made in all."""

    fisheries: list[Fishery]
    owners: list[User]
    beats: list[Beat]
    rows: int


def build(fisheries: int, beats: int, *, now: dt.datetime) -> Estate:
    """All of it in bulk, and the pulse of a watch that runs."""
    made = _Rows()
    waters = made.all(
        Fishery(slug=f"water-{n}", name=f"Water {n}", river="Invented", time_zone="Europe/London", district="46",
                latitude=57.6, longitude=-5.3)
        for n in range(fisheries)
    )  # fmt: skip
    owners = made.all(User(email=f"owner{n}@estate.example", name=f"Owner {n}") for n in range(fisheries))
    made.all(
        Membership(user=user, fishery=water, role="owner") for user, water in zip(owners, waters, strict=True)
    )
    gauges = made.all(Gauge(fishery=water, slug="g", name="Bridge", stale_after_minutes=60) for water in waters)
    made.all(
        Reading(gauge=gauge, at=now - n * HOUR / 4, level_m=0.5 + n % 7 / 100, source="hand")
        for gauge in gauges
        for n in range(READINGS)
    )
    parts = made.all(
        DayPart(fishery=water, slug=slug, name=slug, starts=dt.time(hour), ends=dt.time(hour + 4))
        for water in waters
        for slug, hour in (("morning", 9), ("afternoon", 14))
    )
    guests = made.all(Guest(fishery=water, name=f"Guest {n}") for water in waters for n in range(OUT * beats))
    firsts = []
    for at, water in enumerate(waters):
        stretches = made.all(
            Beat(fishery=water, slug=f"b{n}", name=f"Beat {n}", order=n + 1, rods=RODS,
                 longest_outing_minutes=1440, grace_minutes=0, lone_grace_minutes=0, gauge=gauges[at])
            for n in range(beats)
        )  # fmt: skip
        firsts.append(stretches[0])
        _fill(made, stretches, guests[OUT * beats * at : OUT * beats * (at + 1)], parts[2 * at : 2 * at + 2], now)
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")
    beat_pulse("sweep", now=now)
    return Estate(waters, owners, firsts, made.count)


def _fill(made: "_Rows", beats: list[Beat], guests: list[Guest], parts: list[DayPart], now: dt.datetime) -> None:
    """A fishery's pools, this week's lets and turns, who was and is out, and fish."""
    pools = made.all(
        Pool(beat=beat, slug=f"p{n}", name=f"Pool {n}", order=n + 1, bank="left", flow_bearing_deg=200,
             length_m=90, width_m=20, depth_m=1.5, velocity_mps=0.8, wading_grade=1)
        for beat in beats
        for n in range(POOLS)
    )  # fmt: skip
    monday = now.date() - now.weekday() * DAY
    week = [monday + n * DAY for n in range(6)]
    lets = made.all(
        Let(beat=beat, booker=guests[OUT * n], first_on=week[0], last_on=week[-1], rods=RODS,
            status="confirmed", made_at=now - 30 * DAY, confirmed_at=now - 30 * DAY)
        for n, beat in enumerate(beats)
    )  # fmt: skip
    made.all(
        RodDay(let=let, beat=let.beat, day=day, rod=rod + 1, guest=let.booker if rod == 0 else None)
        for let in lets
        for day in week
        for rod in range(RODS)
    )
    rotas = made.all(
        Rota(beat=beat, first_on=monday, version=1, status="published", certificate={}, made_at=now - DAY)
        for beat in beats
    )
    made.all(
        Turn(rota=rota, day=day, part=part, rod=rod + 1, guest=lets[n].booker, pool=pools[POOLS * n + rod])
        for n, rota in enumerate(rotas)
        for day in week
        for part in parts
        for rod in range(RODS)
    )
    made.all(
        _outing(beat, guests[OUT * at + n % OUT], now, n)
        for at, beat in enumerate(beats)
        for n in range(PAST + OUT)
    )
    made.all(
        Catch(beat=beat, caught_at=now - n * DAY, caught_on=(now - n * DAY).date(), kind="msw", fate="released")
        for beat in beats
        for n in range(1, FISH + 1)
    )


def _outing(beat: Beat, guest: Guest, now: dt.datetime, number: int) -> Outing:
    """The last `OUT` of a beat are out and due in hours; the others came home on the days before."""
    over = number < PAST
    at = now - (number + 1) * DAY if over else now - HOUR
    due = at + 5 * HOUR
    return Outing(
        beat=beat, guest=guest, alone=True, checked_in_at=at, heard_at=at, due_back_at=due, alarm_at=due,
        warn_at=due - HOUR / 4, contact_due_at=due, contact_number=1,
        checked_out_at=at + 4 * HOUR if over else None,
    )  # fmt: skip


class _Rows:
    """Rows made in blocks, and counted."""

    def __init__(self) -> None:
        self.count = 0

    def all(self, rows: Any) -> list[Any]:
        rows, made = iter(rows), []
        while block := list(islice(rows, 2000)):
            made += type(block[0]).objects.bulk_create(block, batch_size=500)
        self.count += len(made)
        return made
