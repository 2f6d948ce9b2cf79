"""A week on an invented beat, let and planned: what the tests of mending start from."""

import datetime as dt

from bookings.models import Let
from sessions.services.rotas import plan_rota
from tests.factories import (
    NOON,
    BeatFactory,
    DayPartFactory,
    GuestFactory,
    LetFactory,
    PoolFactory,
    RodDayFactory,
    keeper,
)

MONDAY = dt.date(2026, 5, 4)
DAYS = [MONDAY + dt.timedelta(days=n) for n in range(4)]
POOLS = (("head", 0, 14), ("neck", 0, 11), ("body", 1, 12), ("tail", 1, 9), ("croy", 2, 13), ("cradle", 3, 10))
QUICK = {"effort": 0.3, "tries": 500}


class Riverside:
    """A beat of six pools and two parts a day, its ghillie, and rods let from Monday to Thursday."""

    def __init__(self, *, rods: int = 3, company: str = Let.Company.EITHER, **pool):
        self.beat = BeatFactory(rods=rods, name="Upper", boats=0, ghillies=0)
        self.pools = {
            slug: PoolFactory(
                beat=self.beat, slug=slug, name=slug.title(), order=number, wading_grade=wading, worth=worth,
                level_max_m=1.0 if slug == "tail" else None, **pool,
            )
            for number, (slug, wading, worth) in enumerate(POOLS)
        }  # fmt: skip
        for slug, start in (("morning", 9), ("afternoon", 14)):
            DayPartFactory(fishery=self.beat.fishery, slug=slug, starts=dt.time(start), ends=dt.time(start + 4))
        self.ghillie = keeper(self.beat.fishery, "ghillie")
        let = LetFactory(beat=self.beat, rods=rods, company=company)
        self.guests = [
            GuestFactory(fishery=self.beat.fishery, wading_grade=3, name=f"Guest {n}") for n in "ABC"[:rods]
        ]
        for number, guest in enumerate(self.guests, start=1):
            for day in DAYS:
                RodDayFactory(let=let, day=day, rod=number, guest=guest)

    def plan(self, **asked):
        asked = {"first_on": MONDAY, "by": self.ghillie, "now": NOON} | QUICK | asked
        return plan_rota(self.beat, **asked)[0]


def lines(rota):
    """The turns of a rota as plain rows: (day, part, rod, pool)."""
    rows = rota.turns.order_by("day", "-part__slug", "rod").values_list("day", "part__slug", "rod", "pool__slug")
    return set(rows)
