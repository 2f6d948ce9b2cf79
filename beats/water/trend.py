"""What the gauge's readings say: level, age, band, rate of rise, and whether to trust the newest.

The rate is the Theil-Sen slope, the median of the slopes between every two readings of a window
(Sen 1968, J. Am. Stat. Assoc. 63): up to 29 % of the readings may be nonsense and it does not care.

A gauge read every 15 minutes cannot warn of a wave front: on one upland river in July 2002 the flow
rose by 160 m3/s between two readings (D. Archer, University of Reading, after Archer and Fowler 2014).
"""

import datetime as dt
import math
from collections import deque
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import combinations
from statistics import median

from beats.water import quality
from beats.water.figures import LEVEL_M, BadFigure, figure, instant
from beats.water.gauge_history import Flat, FlatRun
from beats.water.onset import Onset, OnsetDetector
from beats.water.quality import Reading as Reading
from beats.water.quality import Unconfirmed

HOUR = dt.timedelta(hours=1)
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
    `rising`: an onset stands (`beats.water.onset`); None where that is not known.
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
    rising: bool | None = None


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

    The rate is that of the window that ends with the newest reading, or of the newest readings alone where
    they rise faster (`newest_rate`), from the trusted ones only; a stale or distrusted gauge has no rate.
    Raises BadFigure for a reading later than `now`, and as `marked`.
    """
    record = Record(habits, flat_run)
    for reading in quality.in_order(readings):
        record.add(reading)
    return record.state(now, typical_m)


class Record:
    """The readings of one gauge as they arrive, in the order of time, and the state after each.

    It keeps what the next reading is judged by and no more, so that a record of years can be followed.
    """

    def __init__(self, habits: Habits = USUAL, flat_run: FlatRun | None = None) -> None:
        self.recent: deque[Reading] = deque()
        self._habits = habits
        self._control = quality.Control(habits.checks)
        self._onset, self._found = OnsetDetector(), Onset()
        self._flat = flat_run

    @property
    def onset(self) -> Onset:
        """What the newest believed reading says of a rise."""
        return self._found

    def add(self, reading: Reading) -> Reading:
        """Take the next reading; returns it judged."""
        judged, confirmed = self._control.add(reading)
        for one in confirmed:
            self._believe(one)
        if confirmed:
            known = {one.at: one for one in confirmed}
            self.recent = deque(known.get(one.at, one) for one in self.recent)
        self.recent.append(judged)
        if judged.trusted:
            self._believe(judged, vouched=reading.trusted is True)
        if self._flat is not None and (judged.trusted or judged.unconfirmed):
            after = self._habits.flat_after
            self._flat = self._flat.after(judged.at, judged.level_m, vouched=False, flat_after=after)
        while len(self.recent) > quality.CONTEXT and judged.at - self.recent[0].at > self._habits.window:
            self.recent.popleft()
        return judged

    def state(self, now: dt.datetime, typical_m: tuple[float, float] | None = None) -> State | None:
        """The gauge at `now`; None before the first reading. Raises BadFigure, as `trend.state`."""
        now = instant(now, "time asked about")
        if not self.recent:
            return None
        newest, track = self.recent[-1], self._control.track
        if newest.at > now:
            raise BadFigure(f"A reading is dated {newest.at:%Y-%m-%d %H:%M} UTC, still to come. Check the clock.")
        stale = now - newest.at > self._habits.stale_after
        flat = self._flat.doubt(self._habits.flat_after) if self._flat else None
        unconfirmed = newest.unconfirmed or self._found.unconfirmed
        if flat is Flat.STUCK and newest.trusted:
            unconfirmed, newest = Unconfirmed.STUCK, replace(newest, trusted=False)
        trend = rise_m_per_h(self.recent, self._habits)
        rate = None if stale or not newest.trusted else newest_rate(trend, self._found)
        run = self._flat
        return State(
            newest.level_m,
            newest.at,
            now - newest.at,
            stale,
            bool(newest.trusted),
            band(newest.level_m, typical_m) if typical_m and newest.trusted else None,
            rate,
            unconfirmed=unconfirmed,
            assumed_m=track.assumed_m
            if track.good is None or now - track.good.at <= quality.CARRIED_FOR
            else None,
            faulty=track.faulty,
            flat=flat,
            flat_for=run.last - run.since if run and flat and run.since and run.last else None,
            rising=True if self._found.rising else None if rate is None else False,
        )

    def _believe(self, reading: Reading, *, vouched: bool = False) -> None:
        self._found = self._onset.add(reading.at, reading.level_m, vouched=vouched)


def newest_rate(trend_m_per_h: float | None, found: Onset) -> float | None:
    """The rate to show, in metres an hour: the long trend, or the rise of the newest readings where it is faster.

    None where neither is known, and while the newest reading is unconfirmed and no rise stands.
    """
    if found.unconfirmed and not found.rising:
        return None
    known = [rate for rate in (trend_m_per_h, found.rate_m_per_h) if rate is not None]
    return max(known, default=None)


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


def rise_m_per_h(series: Iterable[Reading], habits: Habits = USUAL) -> float | None:
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
    first = readings[0].at if readings else None
    points = [((one.at - first) / HOUR, one.level_m) for one in readings] if first else []
    slopes = [(b_m - a_m) / (b_h - a_h) for (a_h, a_m), (b_h, b_m) in combinations(points, 2) if a_h != b_h]
    if not slopes:
        raise BadFigure("A trend needs two readings at different times. Add a reading.")
    return median(slopes)


def _thinned(readings: Sequence[Reading]) -> Sequence[Reading]:
    """Every so-manieth, counted back from the newest."""
    step = math.ceil(len(readings) / MOST_READINGS)
    return readings[::-1][::step][::-1]
