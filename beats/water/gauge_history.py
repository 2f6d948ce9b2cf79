"""What a gauge's own history says of a level: far outside its range, or flat for longer than is usual there.

Gross range and flat line are tests of the IOOS manual for water level data (QARTOD, Water Level, version 2.1,
March 2021). Their thresholds are ours: a calm river read to the centimetre may stand still for days, so the
longest flat run seen here decides, and where the history is short there is a caution and no more.
"""

import datetime as dt
from dataclasses import dataclass, replace
from enum import StrEnum

FLAT_M = 0.002
"""A logger's last digit: readings that differ by no more are the same."""
FEWEST_IN_A_RUN = 12
LONGEST_GAP = dt.timedelta(hours=6)
"""A run with a longer gap shows a gauge that is seldom read, not one that is stuck."""
LONG_ENOUGH = dt.timedelta(days=14)
LONGER_THAN_USUAL = 2.0
FIRST_READING_M = (-5.0, 15.0)
"""For the first level at a gauge with no typical range: outside this a person is asked. Our own, no source."""


class Flat(StrEnum):
    """What a flat run says of the gauge."""

    POSSIBLY_STUCK = "possibly_stuck"
    STUCK = "stuck"


@dataclass(frozen=True)
class Range:
    """The range (m) a gauge has shown, or is said to have; None where nothing is known."""

    low_m: float | None = None
    high_m: float | None = None

    def with_level(self, level_m: float) -> "Range":
        low, high = self.low_m, self.high_m
        return Range(
            level_m if low is None else min(low, level_m), level_m if high is None else max(high, level_m)
        )


def outside(level_m: float, known: Range, *, margin_m: float) -> bool:
    """Whether a level lies far outside a range: further than `margin_m`, and than the range is wide."""
    low, high = known.low_m, known.high_m
    if low is None or high is None:
        return not FIRST_READING_M[0] <= level_m <= FIRST_READING_M[1]
    margin = max(margin_m, high - low)
    return level_m < low - margin or level_m > high + margin


def probably_meant(level_m: float, known: Range) -> float | None:
    """The level (m) that was probably meant: a decimal point left out, centimetres or millimetres for metres."""
    if known.low_m is None or known.high_m is None:
        return None
    width = known.high_m - known.low_m
    for around in (0.0, width / 2):
        for factor in (100, 10, 1000):
            if known.low_m - around <= level_m / factor <= known.high_m + around:
                return round(level_m / factor, 3)
    return None


@dataclass(frozen=True)
class FlatRun:
    """The run of equal levels that ends with the newest machine reading, and the longest that ended before.

    `seen_since`: the first reading the history holds.
    """

    level_m: float | None = None
    since: dt.datetime | None = None
    last: dt.datetime | None = None
    count: int = 0
    longest: dt.timedelta = dt.timedelta(0)
    seen_since: dt.datetime | None = None

    def after(self, at: dt.datetime, level_m: float, *, vouched: bool, flat_after: dt.timedelta) -> "FlatRun":
        """The run after one more reading; one that is no later than those before changes nothing.

        `vouched`: a person vouches for this reading, so the count begins again with it. A run is learned as usual
        here when it ends, unless it looked stuck and no person vouched for it.
        """
        if self.last is not None and at <= self.last:
            return self
        same = self.level_m is not None and abs(level_m - self.level_m) <= FLAT_M
        gap = at - self.last if self.last else dt.timedelta(0)
        if same and not vouched and gap <= LONGEST_GAP:
            return replace(self, last=at, count=self.count + 1)
        learned = self.longest
        if self.since and self.last and ((vouched and same) or self.doubt(flat_after) is None):
            learned = max(learned, self.last - self.since)
        return FlatRun(level_m, at, at, 1, learned, self.seen_since or at)

    def doubt(self, flat_after: dt.timedelta) -> Flat | None:
        """Whether the gauge may be stuck; None while the run is no longer than `flat_after` or usual here."""
        if self.since is None or self.last is None or self.seen_since is None or self.count < FEWEST_IN_A_RUN:
            return None
        length = self.last - self.since
        if length < flat_after or length <= self.longest:
            return None
        varied = self.since - self.seen_since >= LONG_ENOUGH
        if varied and length > self.longest * LONGER_THAN_USUAL:
            return Flat.STUCK
        return Flat.POSSIBLY_STUCK


NO_RUN = FlatRun()
