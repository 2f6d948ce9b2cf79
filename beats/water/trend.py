"""What the gauge's readings say: level, age, band, rate of rise, and whether to trust the newest.

The rate is the Theil-Sen slope, the median of the slopes between every two readings of a window
(Sen 1968, J. Am. Stat. Assoc. 63): up to 29 % of the readings may be nonsense and it does not care.

A gauge read every 15 minutes cannot warn of a wave front: on one upland river in July 2002 the flow
rose by 160 m3/s between two readings (D. Archer, University of Reading, after Archer and Fowler 2014).
"""

import datetime as dt
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import combinations
from statistics import median

from beats.water import quality
from beats.water.figures import LEVEL_M, BadFigure, figure, instant
from beats.water.gauge_history import Flat, FlatRun
from beats.water.quality import Reading as Reading
from beats.water.quality import Unconfirmed

MOST_READINGS = 60
"""Slopes go with the square: a logger that reads every second is thinned to so many in a window."""


@dataclass(frozen=True)
class Habits:
    """What is usual at a gauge. Our own defaults, no source; each can be set.

    `stale_after`: older than this is stale, and a longer gap between readings is a silence. `jump_m`,
    `fall_step_m` and `confirm_readings`: see `quality.Checks`. Flat for `flat_after`, and for longer than is usual
    there, the gauge may be stuck: see `gauge_history`. The rate is taken over `window`, from at least
    `fewest` readings that span at least `shortest`.
    """

    stale_after: dt.timedelta = dt.timedelta(minutes=60)
    jump_m: float = 2.0
    window: dt.timedelta = dt.timedelta(hours=3)
    fewest: int = 3
    shortest: dt.timedelta = dt.timedelta(minutes=30)
    fall_step_m: float = quality.DEFAULTS.fall_step_m
    confirm_readings: int = quality.DEFAULTS.confirm_readings
    flat_after: dt.timedelta = dt.timedelta(hours=24)

    def __post_init__(self) -> None:
        figure(self.fewest, "fewest readings for a trend", "readings", (2, MOST_READINGS))
        if min(self.stale_after, self.window, self.shortest) <= dt.timedelta(0):
            raise BadFigure("The age that is stale, the window and the span of a trend are longer than nothing.")
        _ = self.checks

    @property
    def checks(self) -> quality.Checks:
        """The same as settings of the quality control."""
        return quality.Checks(self.jump_m, self.fall_step_m, self.confirm_readings, self.stale_after)


USUAL = Habits()


class Band(StrEnum):
    """Against the gauge's typical range, both ends within."""

    BELOW = "below"
    WITHIN = "within"
    ABOVE = "above"


@dataclass(frozen=True)
class State:
    """The newest reading at `now`: `age` since it was read; `rise_m_per_h` None when too few tell it.

    `unconfirmed`: why the newest level is not believed yet. `assumed_m`: the level to assume meanwhile, the higher
    of the last believed one and what may have replaced it; None where none is known or it is too old. `faulty`:
    the readings just before were faults, so that nothing is known until the newest is confirmed. `flat`: whether
    the gauge may be stuck, and `flat_for` how long it has read the same; None where that says nothing.
    """

    level_m: float
    at: dt.datetime
    age: dt.timedelta
    stale: bool
    trusted: bool
    band: Band | None
    rise_m_per_h: float | None
    unconfirmed: Unconfirmed | None = None
    assumed_m: float | None = None
    faulty: bool = False
    flat: Flat | None = None
    flat_for: dt.timedelta | None = None


def state(
    readings: Iterable[Reading],
    *,
    now: dt.datetime,
    typical_m: tuple[float, float] | None = None,
    habits: Habits = USUAL,
    flat_run: FlatRun | None = None,
) -> State | None:
    """The gauge at `now`, from its readings in any order; None when there are none.

    `flat_run`: the run of equal readings before these, or up to some of them; without it nothing is said of a
    stuck gauge.

    The rate is of the window that ends with the newest reading, from the trusted ones only; a stale
    or distrusted gauge has no rate. Raises BadFigure for a reading later than `now`, and as `marked`.
    """
    now = instant(now, "time asked about")
    series, track = quality.tracked(readings, habits.checks)
    if not series:
        return None
    newest = series[-1]
    if newest.at > now:
        raise BadFigure(f"A reading is dated {newest.at:%Y-%m-%d %H:%M} UTC, still to come. Check the clock.")
    age = now - newest.at
    stale = age > habits.stale_after
    run = _flat_run(flat_run, series, habits)
    flat = run.doubt(habits.flat_after) if run else None
    unconfirmed = newest.unconfirmed
    if flat is Flat.STUCK and newest.trusted:
        unconfirmed, newest = Unconfirmed.STUCK, replace(newest, trusted=False)
    within = band(newest.level_m, typical_m) if typical_m and newest.trusted else None
    rate = None if stale or not newest.trusted else rise_m_per_h(series, habits)
    return State(
        newest.level_m,
        newest.at,
        age,
        stale,
        bool(newest.trusted),
        within,
        rate,
        unconfirmed=unconfirmed,
        assumed_m=track.assumed_m if track.good is None or now - track.good.at <= quality.CARRIED_FOR else None,
        faulty=track.faulty,
        flat=flat,
        flat_for=run.last - run.since if run and flat and run.since and run.last else None,
    )


def _flat_run(before: FlatRun | None, series: Sequence[Reading], habits: Habits) -> FlatRun | None:
    if before is None:
        return None
    run = before
    for one in series:
        if one.trusted or one.unconfirmed:
            run = run.after(one.at, one.level_m, vouched=False, flat_after=habits.flat_after)
    return run


def band(level_m: float, typical_m: tuple[float, float]) -> Band:
    """Where a level stands against the typical range (low, high), in metres. Raises BadFigure."""
    level_m = figure(level_m, "level", "m", LEVEL_M)
    low, high = (figure(end, "typical range", "m", LEVEL_M) for end in typical_m)
    if low > high:
        raise BadFigure(f"The typical range runs from {low:g} down to {high:g} m. Put the lower level first.")
    if level_m < low:
        return Band.BELOW
    return Band.ABOVE if level_m > high else Band.WITHIN


def is_jump(before: Reading, after: Reading, habits: Habits = USUAL) -> bool:
    """Whether a river does not move so far so fast; see `quality.is_jump`."""
    return quality.is_jump(before, after, habits.checks)


def marked(readings: Iterable[Reading], habits: Habits = USUAL) -> list[Reading]:
    """The readings by time, each judged; see `quality.marked`."""
    return quality.marked(readings, habits.checks)


def rise_m_per_h(series: Sequence[Reading], habits: Habits = USUAL) -> float | None:
    """Metres an hour over the window that ends with the last reading; negative when falling.

    `series` by time, as `marked` gives it. None when too few trusted readings, over too short a time, tell it.
    """
    trusted = [reading for reading in series if reading.trusted is not False]
    if not trusted:
        return None
    last = trusted[-1].at
    recent = [reading for reading in trusted if last - reading.at <= habits.window]
    if len(recent) < habits.fewest or last - recent[0].at < habits.shortest:
        return None
    return theil_sen(_thinned(recent))


def theil_sen(readings: Sequence[Reading]) -> float:
    """The median slope between every two readings, in metres an hour; at least two, at different instants."""
    hour = dt.timedelta(hours=1)
    slopes = [
        (b.level_m - a.level_m) / ((b.at - a.at) / hour) for a, b in combinations(readings, 2) if a.at != b.at
    ]
    if not slopes:
        raise BadFigure("A trend needs two readings at different times. Add a reading.")
    return median(slopes)


def _thinned(readings: Sequence[Reading]) -> Sequence[Reading]:
    """Every so-manieth, counted back from the newest."""
    step = math.ceil(len(readings) / MOST_READINGS)
    return readings[::-1][::step][::-1]
