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
from itertools import combinations, groupby
from statistics import median

from beats.water.figures import LEVEL_M, BadFigure, figure, instant
from beats.water.onset import Onset, OnsetDetector
from beats.water.quality import Unconfirmed

QUARTER = dt.timedelta(minutes=15)
MOST_READINGS = 60
"""Slopes go with the square: a logger that reads every second is thinned to so many in a window."""


@dataclass(frozen=True)
class Reading:
    """A level (m on the gauge's datum) at an instant.

    `trusted`: None until judged, False once flagged, True where a person vouches for it.
    """

    at: dt.datetime
    level_m: float
    trusted: bool | None = None

    def __post_init__(self) -> None:
        object.__setattr__(self, "at", instant(self.at, "time of the reading"))
        figure(self.level_m, "level", "m", LEVEL_M)


@dataclass(frozen=True)
class Habits:
    """What is usual at a gauge. Our own defaults, no source; each can be set.

    `stale_after`: older than this is stale. `jump_m`: more than this between two readings a quarter of
    an hour apart (and so in proportion if further) is a fault until a person says otherwise. The rate
    is taken over `window`, from at least `fewest` readings that span at least `shortest`.
    """

    stale_after: dt.timedelta = dt.timedelta(minutes=60)
    jump_m: float = 2.0
    window: dt.timedelta = dt.timedelta(hours=3)
    fewest: int = 3
    shortest: dt.timedelta = dt.timedelta(minutes=30)

    def __post_init__(self) -> None:
        figure(self.jump_m, "jump that is not believed", "m", (0.1, 50))
        figure(self.fewest, "fewest readings for a trend", "readings", (2, MOST_READINGS))
        if min(self.stale_after, self.window, self.shortest) <= dt.timedelta(0):
            raise BadFigure("The age that is stale, the window and the span of a trend are longer than nothing.")


USUAL = Habits()


class Band(StrEnum):
    """Against the gauge's typical range, both ends within."""

    BELOW = "below"
    WITHIN = "within"
    ABOVE = "above"


@dataclass(frozen=True)
class State:
    """The newest reading at `now`: `age` since it was read; `rise_m_per_h` None when too few tell it.

    `rising`: an onset stands (`beats.water.onset`); None where it is not known. `unconfirmed`: the next
    reading is needed before the newest is believed.
    """

    level_m: float
    at: dt.datetime
    age: dt.timedelta
    stale: bool
    trusted: bool
    band: Band | None
    rise_m_per_h: float | None
    rising: bool | None = None
    unconfirmed: Unconfirmed | None = None


def state(
    readings: Iterable[Reading],
    *,
    now: dt.datetime,
    typical_m: tuple[float, float] | None = None,
    habits: Habits = USUAL,
) -> State | None:
    """The gauge at `now`, from its readings in any order; None when there are none.

    The rate is that of the window that ends with the newest reading, or of the newest readings alone where
    they rise faster (`newest_rate`), from the trusted ones only; a stale or distrusted gauge has no rate.
    Raises BadFigure for a reading later than `now`, and as `marked`.
    """
    now = instant(now, "time asked about")
    given = list(readings)
    series = marked(given, habits)
    if not series:
        return None
    found = onset_of(series, vouched=frozenset(reading.at for reading in given if reading.trusted))
    return state_of(series, found, now=now, typical_m=typical_m, habits=habits)


def state_of(
    series: Sequence[Reading],
    found: Onset,
    *,
    now: dt.datetime,
    typical_m: tuple[float, float] | None = None,
    habits: Habits = USUAL,
) -> State:
    """As `state`, from readings that are marked already and what the onset detector found in them."""
    newest = series[-1]
    if newest.at > now:
        raise BadFigure(f"A reading is dated {newest.at:%Y-%m-%d %H:%M} UTC, still to come. Check the clock.")
    age = now - newest.at
    stale = age > habits.stale_after
    trusted = bool(newest.trusted)
    within = band(newest.level_m, typical_m) if typical_m and trusted else None
    rate = None if stale or not trusted else newest_rate(rise_m_per_h(series, habits), found)
    rising = True if found.rising else None if rate is None else False
    return State(newest.level_m, newest.at, age, stale, trusted, within, rate, rising, found.unconfirmed)


def onset_of(series: Iterable[Reading], *, vouched: frozenset[dt.datetime] = frozenset()) -> Onset:
    """What the newest trusted reading says of an onset; `series` by time, as `marked` gives it."""
    detector, found = OnsetDetector(), Onset()
    for reading in series:
        if reading.trusted is not False:
            found = detector.add(reading.at, reading.level_m, vouched=reading.at in vouched)
    return found


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
    """Whether a river does not move so far so fast: more than `jump_m` a quarter of an hour."""
    quarters = max(1.0, (after.at - before.at) / QUARTER)
    return abs(after.level_m - before.level_m) > habits.jump_m * quarters


def marked(readings: Iterable[Reading], habits: Habits = USUAL) -> list[Reading]:
    """The readings by time, all kept, each now trusted or (after a jump) not.

    After a jump readings stay distrusted until one is back within `jump_m` of the last trusted one, or is
    vouched for: a gauge that was moved does not become right by repeating itself. Only what is given is
    seen, so keep the mark with the reading. The same reading twice counts once; two levels at one instant
    are BadFigure.
    """
    series: list[Reading] = []
    good: Reading | None = None
    fell_out = False
    for reading in _in_order(readings):
        verdict = reading.trusted
        if verdict is None:
            verdict = good is None or not _out_of_line(good, reading, habits, fell_out=fell_out)
        series.append(replace(reading, trusted=verdict))
        good = series[-1] if verdict else good
        fell_out = not verdict
    return series


def _out_of_line(good: Reading, reading: Reading, habits: Habits, *, fell_out: bool) -> bool:
    if fell_out:
        return abs(reading.level_m - good.level_m) > habits.jump_m
    return is_jump(good, reading, habits)


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


def _in_order(readings: Iterable[Reading]) -> list[Reading]:
    found: list[Reading] = []
    for at, same in groupby(sorted(readings, key=lambda reading: reading.at), key=lambda reading: reading.at):
        several = list(same)
        levels = sorted({reading.level_m for reading in several})
        if len(levels) > 1:
            both = " and ".join(f"{level:g}" for level in levels)
            raise BadFigure(
                f"At {at:%Y-%m-%d %H:%M} UTC the gauge reads both {both} m. Give each reading its own time."
            )
        words = {reading.trusted for reading in several}
        found.append(Reading(at, levels[0], next((word for word in (True, False) if word in words), None)))
    return found
