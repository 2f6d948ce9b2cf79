"""Height of the tide between high and low water, and when it cuts a pool off.

Two rules. Twelfths: over six equal parts of the time between two waters the level moves 1, 2, 3, 3, 2
and 1 twelfths of the range (Practical Boat Owner, glossary), a straight line within each part. Cosine:
h = h1 + (h2 - h1)(1 - cos(pi (t - t1)/(t2 - t1)))/2 (Australian Hydrographic Service), which it calls
acceptable where the rise or fall lasts five to seven hours. Both over the actual time between the two
waters, not a fixed half-day. In an estuary the river, the wind and the air pressure move the water
earlier, later, higher or lower than either.
"""

import datetime as dt
import math
from bisect import bisect_left
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache
from itertools import pairwise

from beats.emergency import in_danger
from beats.shared.phrases import joined, say
from beats.water.figures import figure, instant
from beats.water.tide_table import HEIGHT_M, TideTable, Water

HOUR = dt.timedelta(hours=1)
REGULAR = (5 * HOUR, 7 * HOUR)
LONGEST = 10 * HOUR
"""Longer between two waters means that rows are missing: nothing is told there."""
TWELFTHS = (0, 1, 3, 6, 9, 11, 12)

CANNOT_SEE = joined(
    (
        say(
            "Rain, wind and air pressure bring the water earlier and higher than any tide table: "
            "leave well before."
        ),
        in_danger(tidal=True),
    )
)


class By(StrEnum):
    """The rule a height was found by."""

    COSINE = "cosine"
    TWELFTHS = "twelfths"


@dataclass(frozen=True)
class Height:
    """Metres above the port's datum; `rough` where the rise or fall is not of five to seven hours."""

    height_m: float
    rising: bool
    rough: bool


@dataclass(frozen=True)
class Window:
    """A half-open span of time, in UTC."""

    start: dt.datetime
    end: dt.datetime


@dataclass(frozen=True)
class CutOff:
    """When a pool is cut off in a span of time; `unknown` are the parts the table does not tell."""

    windows: tuple[Window, ...]
    unknown: tuple[Window, ...]


def height(table: TideTable, at: dt.datetime, *, by: By = By.COSINE) -> Height | None:
    """The height at an instant; None outside the table, or where it has a hole."""
    at = instant(at, "time of the tide")
    place = max(1, bisect_left(table.waters, at, key=_time))
    if place == len(table.waters) or table.waters[place - 1].at > at:
        return None
    before, after = table.waters[place - 1], table.waters[place]
    length = after.at - before.at
    if length > LONGEST:
        return None
    share = SHARES[by]((at - before.at) / length)
    metres = (1 - share) * before.height_m + share * after.height_m
    low, high = REGULAR
    return Height(metres, after.height_m > before.height_m, rough=not low <= length <= high)


@dataclass(frozen=True)
class Stretch:
    """The rises and falls of a span of time, for asking about many heights: see `cut_off`."""

    span: Window
    pairs: tuple[tuple[Water, Water], ...]
    unknown: tuple[Window, ...]

    def cut_off(self, threshold_m: float) -> CutOff:
        """When the tide stands at or above a height within the span. Raises BadFigure."""
        threshold_m = figure(threshold_m, "height that cuts the pool off", "m", HEIGHT_M)
        return CutOff(_clipped(_flooded(self.pairs, threshold_m), self.span), self.unknown)


@lru_cache(maxsize=256)  # a beat's pools ask the same of one day, again and again
def _flooded(pairs: tuple[tuple[Water, Water], ...], threshold_m: float) -> tuple[Window, ...]:
    return tuple(_merged(found for a, b in pairs if (found := _above(a, b, threshold_m))))


def stretch(table: TideTable, *, start: dt.datetime, end: dt.datetime) -> Stretch:
    """What the table tells of a span, and of which parts of it nothing."""
    span = Window(instant(start, "start"), instant(end, "end"))
    pairs = tuple((a, b) for a, b in pairwise(_about(table, span)) if b.at - a.at <= LONGEST)
    covered = _merged(Window(a.at, b.at) for a, b in pairs)
    return Stretch(span, pairs, _clipped(_holes(covered, span), span))


def cut_off(table: TideTable, threshold_m: float, *, start: dt.datetime, end: dt.datetime) -> CutOff:
    """When between two instants the tide stands at or above `threshold_m` (above the port's datum).

    By both rules, the earlier start and the later end of the two. What the table does not tell is
    unknown, never dry. Raises BadFigure.
    """
    return stretch(table, start=start, end=end).cut_off(threshold_m)


def _by_cosine(part: float) -> float:
    return (1 - math.cos(math.pi * part)) / 2


def _by_twelfths(part: float) -> float:
    sixth = min(int(part * 6), 5)
    low, high = TWELFTHS[sixth], TWELFTHS[sixth + 1]
    return (low + (high - low) * (part * 6 - sixth)) / 12


SHARES: dict[By, Callable[[float], float]] = {By.COSINE: _by_cosine, By.TWELFTHS: _by_twelfths}


def _part_by_cosine(share: float) -> float:
    """The part of the time after which that share of the range is run."""
    return math.acos(1 - 2 * share) / math.pi


def _part_by_twelfths(share: float) -> float:
    sixth = next(n for n in range(6) if share * 12 <= TWELFTHS[n + 1])
    low, high = TWELFTHS[sixth], TWELFTHS[sixth + 1]
    return (sixth + (share * 12 - low) / (high - low)) / 6


def _about(table: TideTable, span: Window) -> tuple[Water, ...]:
    """The waters of a span and the one on either side: a table may hold years."""
    first = bisect_left(table.waters, span.start, key=_time)
    return table.waters[max(0, first - 1) : bisect_left(table.waters, span.end, key=_time) + 1]


def _time(water: Water) -> dt.datetime:
    return water.at


def _above(before: Water, after: Water, threshold_m: float) -> Window | None:
    """The part of one rise or fall at or above the threshold, by whichever rule makes it longer."""
    low, high = sorted((before.height_m, after.height_m))
    if threshold_m > high:
        return None
    if threshold_m <= low:
        return Window(before.at, after.at)
    share = (threshold_m - before.height_m) / (after.height_m - before.height_m)
    crossings = [before.at + (after.at - before.at) * part(share) for part in (_part_by_cosine, _part_by_twelfths)]
    if after.height_m > before.height_m:
        return Window(min(crossings), after.at)
    return Window(before.at, max(crossings))


def _merged(windows: Iterator[Window] | list[Window]) -> list[Window]:
    """Windows in order, those that touch made one."""
    found: list[Window] = []
    for window in windows:
        if found and window.start <= found[-1].end:
            found[-1] = Window(found[-1].start, max(found[-1].end, window.end))
        else:
            found.append(window)
    return found


def _holes(covered: list[Window], span: Window) -> list[Window]:
    edges = [span.start, *(edge for window in covered for edge in (window.start, window.end)), span.end]
    return [Window(edges[n], edges[n + 1]) for n in range(0, len(edges), 2) if edges[n] < edges[n + 1]]


def _clipped(windows: Sequence[Window], span: Window) -> tuple[Window, ...]:
    inside = [Window(max(window.start, span.start), min(window.end, span.end)) for window in windows]
    return tuple(window for window in inside if window.start < window.end)
