"""Fish counted by what was noted of them."""

import datetime as dt
from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from decimal import Decimal

from sessions.statistics.poisson import limits

LEVEL_STEP_M, WARMTH_STEP_C = 0.2, 2.0
NOT_SAID = "not said"


@dataclass(frozen=True)
class Fish:
    """What the statistics need to know of a fish."""

    caught_on: dt.date
    fate: str
    pool: str = ""
    part: str = ""
    fly: str = ""
    level_m: float | None = None
    water_c: float | None = None
    weight_kg: Decimal | None = None
    id: int = 0


@dataclass(frozen=True)
class Group:
    """How many fish of a kind, and between which means such a count is not surprising (95 %)."""

    name: str
    fish: int
    low: float
    high: float


def week_of(day: dt.date) -> int:
    """The ISO week; the odd days at the turn of the year go with the year they are dated in."""
    week = day.isocalendar().week
    if day.month == 1 and week > 50:
        return 1
    return 52 if week > 52 or (day.month == 12 and week == 1) else week


def band(value: float | None, step: float, unit: str) -> str:
    """The band a value lies in, from its lower edge, included: 0.40 to 0.60 m."""
    if value is None:
        return NOT_SAID
    edge = (value + 1e-9) // step * step
    digits = 0 if step >= 1 else 2
    return f"{edge + 0.0:.{digits}f} to {edge + step:.{digits}f} {unit}"


def level_band(fish: Fish) -> str:
    return band(fish.level_m, LEVEL_STEP_M, "m")


def warmth_band(fish: Fish) -> str:
    return band(fish.water_c, WARMTH_STEP_C, "°C")


def grouped(fish: Iterable[Fish], key: Callable[[Fish], str]) -> list[Group]:
    """Groups with most fish first; those nobody said anything of last."""
    counts = Counter(key(one).strip() or NOT_SAID for one in fish)
    order = sorted(counts, key=lambda name: (name == NOT_SAID, -counts[name], name))
    return [Group(name, counts[name], *limits(counts[name])) for name in order]


def best(fish: Iterable[Fish]) -> Fish | None:
    """The heaviest with a weight; the earliest of equals."""
    weighed = [one for one in fish if one.weight_kg is not None]
    return min(weighed, key=lambda one: (-(one.weight_kg or 0), one.caught_on, one.id), default=None)


def last(fish: Iterable[Fish]) -> Fish | None:
    return max(fish, key=lambda one: (one.caught_on, one.id), default=None)
