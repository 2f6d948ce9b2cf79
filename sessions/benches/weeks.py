"""Invented weeks for the rota's benchmark: the same number gives the same week on any machine."""

import datetime as dt
import math
import random
from dataclasses import dataclass

from sessions.rotation import Place, Policy, Problem, Rod

MONDAY = dt.date(2026, 5, 4)
DAYS = tuple(MONDAY + dt.timedelta(days=number) for number in range(6))
PARTS = ("morning", "afternoon", "evening")


@dataclass(frozen=True)
class Size:
    """Rods, pools, parts of the day, days."""

    rods: int
    pools: int
    parts: int
    days: int = 6

    def __str__(self) -> str:
        return f"{self.rods} x {self.pools} x {self.parts} x {self.days}"


def week(number: int, size: Size, *, mixed: bool = False, policy: Policy = Policy.ALL_THE_WATER) -> Problem:
    """A week on a winding river. `mixed`: gradings differ, some rods stay part of the week, a pool rests."""
    dice = random.Random(number)  # noqa: S311 - an invented river, not a secret
    places = tuple(_place(dice, order, mixed=mixed) for order in range(size.pools))
    names, days = PARTS[: size.parts], DAYS[: size.days]
    closed = {}
    if mixed:
        resting, day = dice.choice(places), dice.choice(days)
        closed = {(day, part, resting.key): "rested" for part in names}
    people = tuple(_rod(dice, who, days, mixed=mixed) for who in range(size.rods))
    return Problem(people, places, names, closed, policy=policy)


def _place(dice: random.Random, order: int, *, mixed: bool) -> Place:
    worth = dice.randint(6, 20)
    bend = 400 * math.sin(order / 2)
    return Place(
        key=f"pool-{order:02}", name=f"Pool {order + 1}", order=order, holds=1, worth=worth,
        wading=dice.choices((0, 1, 2, 3), (30, 35, 25, 10))[0] if mixed else dice.randint(0, 2),
        worth_by_part={PARTS[1]: worth + dice.randint(1, 4)} if mixed and dice.random() < 0.2 else {},
        east_m=bend + dice.uniform(-30, 30), north_m=-200.0 * order + dice.uniform(-60, 60),
    )  # fmt: skip


def _rod(dice: random.Random, who: int, days: tuple[dt.date, ...], *, mixed: bool) -> Rod:
    out, wading = days, 3
    if mixed:
        wading = dice.choices((1, 2, 3), (25, 45, 30))[0]
        if len(days) > 3 and dice.random() < 0.25:
            start = dice.randrange(len(days) - 2)
            out = days[start : start + 3]
    return Rod(f"rod-{who:02}", f"Rod {who + 1}", out, wading)
