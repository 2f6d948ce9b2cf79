"""Stage records to try the onset detector on: a true one as a poor gauge would have read it, or synthetic. Pure.

Perturbations are those of the goals: Gaussian noise, rounding, missing readings, single spikes.
"""

import datetime as dt
import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from random import Random

from beats.water.quality import Reading
from beats.water.trend import Record

QUARTER = dt.timedelta(minutes=15)
START = dt.datetime(2026, 1, 1, tzinfo=dt.UTC)
A_DAY = 96
MISSING, SPIKES = 0.1, 0.005
SPIKE_M = (0.3, 1.5)
Gauged = list[float | None]


@dataclass(frozen=True)
class Case:
    """One way of reading the stage. `limit_minutes`: the longest delay allowed; None where none is set."""

    name: str
    read: Callable[[Sequence[float], Random], Gauged]
    limit_minutes: int | None = 30


def noisy(stages: Sequence[float], random: Random, *, sd_m: float) -> Gauged:
    """Gaussian noise of that standard deviation (m)."""
    return [stage + random.gauss(0, sd_m) for stage in stages]


def rounded(stages: Sequence[float | None], _random: Random) -> Gauged:
    """To the centimetre."""
    return [None if stage is None else round(stage, 2) for stage in stages]


def with_gaps(stages: Sequence[float | None], random: Random) -> Gauged:
    """A tenth of the readings missing."""
    return [None if random.random() < MISSING else stage for stage in stages]


def with_spikes(stages: Sequence[float], random: Random) -> Gauged:
    """One reading in two hundred off by 0.3 to 1.5 m, up or down."""
    read: Gauged = list(stages)
    for place in random.sample(range(len(stages)), round(len(stages) * SPIKES)):
        read[place] = stages[place] + random.uniform(*SPIKE_M) * random.choice((-1, 1))
    return read


CASES = (
    Case("as it is", lambda stages, _: list(stages)),
    Case("5 mm noise", lambda stages, random: noisy(stages, random, sd_m=0.005)),
    Case("10 mm noise", lambda stages, random: noisy(stages, random, sd_m=0.01)),
    Case("10 mm rounding", rounded),
    Case("10 % missing", with_gaps, 45),
    Case(
        "10 mm noise, rounded, 10 % missing",
        lambda stages, random: rounded(with_gaps(noisy(stages, random, sd_m=0.01), random), random),
        45,
    ),
    Case("20 mm noise", lambda stages, random: noisy(stages, random, sd_m=0.02), None),
    Case("single spikes", with_spikes, None),
)


def rising_shown(stages: Sequence[float | None], *, cadence: dt.timedelta = QUARTER) -> list[bool | None]:
    """Whether `rising` was shown at each reading; None where none came."""
    record = Record()
    return [
        None if stage is None else _rising(record, START + n * cadence, stage) for n, stage in enumerate(stages)
    ]


def _rising(record: Record, at: dt.datetime, stage_m: float) -> bool:
    record.add(Reading(at, stage_m))
    return record.onset.rising


def synthetic(random: Random, *, days: int, spates: int = 0) -> list[float]:
    """Stages (m) every quarter of an hour: a calm river that falls and breathes, and spates that rise 0.3 to 2 m.

    Each spate rises at 0.35 to 2 m an hour, begins gently, and falls by half every few hours.
    """
    count = days * A_DAY
    every = count / (spates or max(1, days // 12))
    risen = [0.0] * count
    for number in range(int(count / every)):
        at = int(number * every + random.uniform(0.2, 0.8) * every)
        for n, height in enumerate(_spate(random)):
            if at + n < count:
                risen[at + n] += height
    calm = (
        0.4 + 0.02 * math.sin(2 * math.pi * n / A_DAY) + 0.1 * math.sin(2 * math.pi * n / count)
        for n in range(count)
    )
    return [round(low + high, 4) for low, high in zip(calm, risen, strict=True)]


def _spate(random: Random) -> Iterator[float]:
    height, fastest = random.uniform(0.3, 2.0), random.uniform(0.35, 2.0) / 4
    stage = step = 0.0
    while stage < height:
        step = min(fastest, step + fastest / random.choice((1, 2, 3)))
        stage += step
        yield stage
    halved = 0.5 ** (1 / random.uniform(16, 60))
    while stage > 0.005:
        stage *= halved
        yield stage
