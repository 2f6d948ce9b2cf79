"""Onset of a rise at a gauge, from the newest readings against the gauge's own noise. Pure.

A cumulative-sum test (E. S. Page 1954, "Continuous inspection schemes", Biometrika 41, 100-115). The sum of
the changes of stage since an earlier reading, less an allowance for every hour between, is compared with a
threshold that grows with the noise of the gauge. Page's reset at zero is the choice of the earlier reading:
of those of the last hour, the one from which the sum is largest.

The noise is the scaled median absolute residual of each reading from the line through its two neighbours,
over a day (median absolute deviation: F. R. Hampel 1974, J. Am. Stat. Assoc. 69, 383-393). A recession or
a steady rise is nearly a line and leaves no residual.

One misread value does no harm: earlier readings are compared as the median of three neighbours (J. W. Tukey
1977, "Exploratory Data Analysis"), and a step of `RISE_STEP_M` in one reading waits for the next reading. The
figures below were chosen on one flashy river, all its years together (`manage.py bench_onset`).
"""

import datetime as dt
from bisect import bisect_left, insort
from collections import deque
from dataclasses import dataclass
from itertools import takewhile
from math import sqrt
from typing import NamedTuple

from beats.water.quality import RISE_STEP_M, Unconfirmed

HOUR_S = 3600.0
ALLOWANCE_M_PER_H = 0.07
"""A rise slower than this is left to the long trend."""
LEAST_RISE_M = 0.045
"""The rise above the allowance that is an onset at a gauge without noise."""
NOISE_FACTOR = 4.0
"""The threshold in standard deviations of one reading, where that is more than `LEAST_RISE_M`."""
COMPARED_S = HOUR_S
"""How far back the newest reading is compared, and at least with the two readings before it."""
QUIET_S = 2 * HOUR_S
"""A rise has ended when the newest readings have shown no onset for so long, two readings at least."""
FALLEN_M, FALLEN_FOR_S = 0.05, HOUR_S
"""Or when for an hour they stood so far (the threshold, if larger) below the highest of the last two hours."""
NOISE_OVER_S = 24 * HOUR_S
NEIGHBOURS_S = HOUR_S
"""Readings further apart than this say nothing about noise: the river itself moves between them."""
FEWEST_RESIDUALS = 12
USUAL_NOISE_M = 0.01
"""Where fewer tell the noise: a staff is read by eye to a centimetre (common practice, no source)."""
LEAST_SHOWN_M, SHOWN_FACTOR = 0.015, 4.0
"""A rise above the lowest of the last hour that is shown as a rate though it is no onset."""
LOOK_BACK = dt.timedelta(hours=30)
"""Earlier readings change nothing."""
LOOK_BACK_S = LOOK_BACK.total_seconds()
GAUSSIAN_MAD = 1.4826
SAME = 1e-9
"""Metres below which two levels differ by rounding alone."""


@dataclass(frozen=True)
class Onset:
    """What the newest reading says. `rate_m_per_h`: see `OnsetDetector.add`; `noise_m`: of one reading."""

    rising: bool = False
    unconfirmed: Unconfirmed | None = None
    rate_m_per_h: float | None = None
    noise_m: float = USUAL_NOISE_M


class _Point(NamedTuple):
    at_s: float
    level_m: float


class Noise:
    """The standard deviation of one reading in metres, from the residuals of the last day."""

    def __init__(self) -> None:
        self._by_age: deque[_Point] = deque()
        self._by_size: list[float] = []

    def add(self, before: _Point, middle: _Point, after: _Point) -> None:
        """Take the residual of `middle` from the line through its neighbours, unless they are far apart."""
        if middle.at_s - before.at_s > NEIGHBOURS_S or after.at_s - middle.at_s > NEIGHBOURS_S:
            return
        share = (middle.at_s - before.at_s) / (after.at_s - before.at_s)
        residual = middle.level_m - before.level_m - share * (after.level_m - before.level_m)
        size = abs(residual) / sqrt(1 + share**2 + (1 - share) ** 2)
        self._by_age.append(_Point(middle.at_s, size))
        insort(self._by_size, size)

    def of(self, at_s: float) -> float:
        """At an instant not before the last; `USUAL_NOISE_M` where too few residuals tell it."""
        while self._by_age and at_s - self._by_age[0].at_s > NOISE_OVER_S:
            del self._by_size[bisect_left(self._by_size, self._by_age.popleft().level_m)]
        if len(self._by_size) < FEWEST_RESIDUALS:
            return USUAL_NOISE_M
        return GAUSSIAN_MAD * self._by_size[len(self._by_size) // 2]


class OnsetDetector:
    """Takes the trusted readings of one gauge in the order of time, one by one."""

    def __init__(self) -> None:
        self._noise = Noise()
        self._smooth: deque[_Point] = deque()
        self._last: list[_Point] = []
        self._signal_s: float | None = None
        self._after_signal = 0
        self._high_s = 0.0
        self._stepped = False
        self._now = Onset()

    def add(self, at: dt.datetime, level_m: float, *, vouched: bool = False) -> Onset:
        """Take the next reading, in metres, and return what it says. One not later than the last is ignored.

        `vouched`: a person has confirmed it, so that a step needs no further reading.

        The rate is from the newest readings. While they signal an onset it is the slope from the reading at
        which the rise began, where the cumulative sum is largest. Else, where the newest stands clearly above
        the lowest of the last hour, it is the slope from that one. None where they show no rise or the crest
        has passed, and while the newest is unconfirmed and no rise stands.
        """
        new = _Point(at.timestamp(), level_m)
        if self._last and new.at_s <= self._last[-1].at_s:
            return self._now
        self._forget(new.at_s - LOOK_BACK_S)
        if self._last:
            self._judge(new, self._noise.of(new.at_s), vouched=vouched)
        self._keep(new)
        return self._now

    def _judge(self, new: _Point, noise_m: float, *, vouched: bool) -> None:
        threshold = max(LEAST_RISE_M, NOISE_FACTOR * noise_m)
        compared = self._compared(new)
        began = max(compared, key=lambda point: _sum(point, new))
        signal = _sum(began, new) >= threshold - SAME
        step = new.level_m - compared[0].level_m >= RISE_STEP_M - SAME or (signal and len(self._last) < 2)
        step = step and not vouched
        if step and not self._stepped and not self._now.rate_m_per_h:
            signal = self._now.rising  # nothing before shows a rise: the next reading confirms or clears it
        self._stepped = step
        rising = self._still(new, threshold, signal=signal)
        rate = None if step and not rising else _rate(began, compared, new, noise_m, signal=signal)
        self._now = Onset(rising, Unconfirmed.RISE_STEP if step else None, rate, noise_m)

    def _compared(self, new: _Point) -> list[_Point]:
        """Earlier readings, the newest first, each the median of itself and its two neighbours."""
        last = self._last[-1]
        if len(self._last) > 1:
            last = _middle(self._last[-2], last, new)
        recent = takewhile(lambda point: new.at_s - point.at_s <= COMPARED_S, reversed(self._smooth))
        found = [last, *recent]
        return found if len(found) > 1 else [last, *list(self._smooth)[-1:]]

    def _forget(self, before_s: float) -> None:
        if self._last and self._last[-1].at_s < before_s:
            self._last, self._signal_s, self._stepped, self._now = [], None, False, Onset()
            self._smooth.clear()
        self._last = [point for point in self._last if point.at_s >= before_s]
        while self._smooth and self._smooth[0].at_s < before_s:
            self._smooth.popleft()

    def _still(self, new: _Point, threshold: float, *, signal: bool) -> bool:
        if signal:
            self._signal_s, self._high_s, self._after_signal = new.at_s, new.at_s, 0
            return True
        if self._signal_s is None:
            return False
        self._after_signal += 1
        highest = max((point.level_m for point in self._smooth), default=new.level_m)
        if new.level_m > highest - max(FALLEN_M, threshold):
            self._high_s = new.at_s
        fallen = new.at_s - self._high_s >= FALLEN_FOR_S
        quiet = new.at_s - self._signal_s >= QUIET_S
        if self._after_signal >= 2 and (quiet or fallen):
            self._signal_s = None
        return self._signal_s is not None

    def _keep(self, new: _Point) -> None:
        if len(self._last) > 1:
            before, last = self._last
            self._noise.add(before, last, new)
            self._smooth.append(_middle(before, last, new))
        elif self._last:
            self._smooth.append(self._last[0])
        self._last = [*self._last[-1:], new]
        # Two points at least stay, for readings taken hours apart.
        while len(self._smooth) > 2 and new.at_s - self._smooth[0].at_s > QUIET_S:
            self._smooth.popleft()


def _middle(before: _Point, point: _Point, after: _Point) -> _Point:
    return _Point(point.at_s, sorted((before.level_m, point.level_m, after.level_m))[1])


def _sum(began: _Point, new: _Point) -> float:
    return new.level_m - began.level_m - ALLOWANCE_M_PER_H * (new.at_s - began.at_s) / HOUR_S


def _rate(began: _Point, compared: list[_Point], new: _Point, noise_m: float, *, signal: bool) -> float | None:
    if new.level_m < max(point.level_m for point in compared) - max(FALLEN_M, NOISE_FACTOR * noise_m):
        return None  # past the crest: the long trend says more
    if not signal:
        began = min(compared, key=lambda point: point.level_m)
        if new.level_m - began.level_m < max(LEAST_SHOWN_M, SHOWN_FACTOR * noise_m):
            return None
    return (new.level_m - began.level_m) / ((new.at_s - began.at_s) / HOUR_S)
