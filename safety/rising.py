"""When the river itself calls the rods in, and when it lets them out again. Pure.

One reading at the mark calls, confirmed or not; the call stands until two confirmed ones in a row are a whole
band below it. A gauge that hovers at the mark therefore calls once. A single fault (`quality.Track`) calls
nobody; two in a row at the mark do, since a flood wave looks like that too.

A gauge read every quarter of an hour cannot warn of a wave front (`beats.water.trend`): this is one
more pair of eyes, and no more.
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from beats.water.trend import Reading, State

IN_A_ROW = 2
LEVEL, RISE = "level", "rise"
"""Causes of a recall, as `safety.models.Recall.Cause` has them."""


@dataclass(frozen=True)
class Marks:
    """A beat's marks: metres on its gauge, metres an hour, and the band a level must fall below its mark."""

    level_m: float | None
    rise_m_per_h: float | None
    band_m: float


def level_calls(readings: Sequence[Reading], mark_m: float | None, band_m: float, *, standing: bool) -> bool:
    """Whether the level calls the rods in, given whether it does so already. `readings` by time, marked."""
    if mark_m is None:
        return False
    if standing:
        last = [reading.level_m for reading in readings if reading.trusted is not False][-IN_A_ROW:]
        if len(last) < IN_A_ROW or not all(level < mark_m - band_m for level in last):
            return True
    newest = readings[-IN_A_ROW:]
    if not newest or newest[-1].level_m < mark_m:
        return False
    if newest[-1].trusted is not False or newest[-1].unconfirmed is not None:
        return True
    return len(newest) == IN_A_ROW and all(reading.level_m >= mark_m for reading in newest)


def rise_calls(state: State | None, marks: Marks, *, standing: bool) -> bool:
    """Whether a rise does: any onset where the policy has a mark at all, and a rate at that mark.

    It ends when no onset stands and the rate is below half of the mark. Unknown changes nothing, and a single
    unconfirmed step neither calls nor ends.
    """
    mark = marks.rise_m_per_h
    if mark is None:
        return False
    if state is not None and state.rising:
        return True
    if state is None or state.rise_m_per_h is None:
        return standing
    return state.rise_m_per_h >= (mark / 2 if standing else mark)


def gauge_calls(
    readings: Sequence[Reading], state: State | None, marks: Marks, *, standing: Collection[str]
) -> frozenset[str]:
    """Which of LEVEL and RISE call the rods in, given which do so already. `readings` by time, marked."""
    called = {
        LEVEL: level_calls(readings, marks.level_m, marks.band_m, standing=LEVEL in standing),
        RISE: rise_calls(state, marks, standing=RISE in standing),
    }
    return frozenset(cause for cause, calls in called.items() if calls)


def pools_out(
    level_m: float | None,
    windows: dict[int, float],
    band_m: float,
    *,
    standing: set[int],
    confirmed: bool = True,
) -> set[int]:
    """Pools too high to fish: above their window, or still within the band of it when they were out before.

    A level that is not confirmed may add pools and ends none.
    """
    if level_m is None:
        return standing & set(windows)
    out = {pool for pool, high in windows.items() if level_m > (high - band_m if pool in standing else high)}
    return out if confirmed else out | standing & set(windows)
