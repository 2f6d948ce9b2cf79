"""Levels as a feed gave them, and a tray to gather them on: what fits is kept, what does not is counted."""

import datetime as dt
import json
import math
from collections import Counter
from dataclasses import dataclass
from typing import Any

from beats.water.feeds.instants import Odd

LOWEST_M, HIGHEST_M = -50.0, 500.0
COLDEST_C, WARMEST_C = -1.0, 40.0


class Unreadable(ValueError):
    """The whole answer will not do; the message says why and what to do."""


@dataclass(frozen=True)
class Level:
    """Metres on the gauge at an instant (UTC); the water's temperature where it was taken too."""

    at: dt.datetime
    level_m: float
    water_c: float | None = None


@dataclass(frozen=True)
class Answer:
    """The levels of one feed in the order of time, each instant once, and notes of what was left out."""

    levels: tuple[Level, ...]
    notes: tuple[str, ...]


class Tray:
    """Gathers the points of one answer."""

    def __init__(self, factor: float) -> None:
        """`factor` turns the feed's numbers into metres."""
        self._factor = factor
        self._levels: dict[dt.datetime, float] = {}
        self._at_odds: set[dt.datetime] = set()
        self._left_out: Counter[str] = Counter()

    def put(self, at: dt.datetime | Odd, value: Any) -> None:
        """One point. What is no finite number within the world's gauges is left out and noted."""
        if isinstance(at, Odd):
            return self.leave_out(at.value)
        if value is None or (isinstance(value, float) and math.isnan(value)):
            return self.leave_out("no value")
        if isinstance(value, bool) or not isinstance(value, int | float):
            return self.leave_out("several values at once" if isinstance(value, list) else "text for a number")
        if not abs(value) < 1e300 or not LOWEST_M <= value * self._factor <= HIGHEST_M:
            return self.leave_out(f"beyond {LOWEST_M:.0f} to {HIGHEST_M:.0f} m")
        level_m = round(value * self._factor, 6)  # a micrometre: 0.1 ft is 0.03048 m, not 0.030480000000000004
        if self._levels.setdefault(at, level_m) != level_m:
            self._at_odds.add(at)
        return None

    def leave_out(self, why: str) -> None:
        self._left_out[why] += 1

    def answer(self) -> Answer:
        """Points at odds with each other about one instant are both left out: nobody can say which holds."""
        left_out = self._left_out + Counter({"two levels for one instant": len(self._at_odds)})
        return Answer(
            tuple(Level(at, level_m) for at, level_m in sorted(self._levels.items()) if at not in self._at_odds),
            tuple(f"{count} left out: {why}" for why, count in sorted(left_out.items())),
        )


def read_json(data: bytes) -> Any:
    """The JSON of an answer; NaN and Infinity, which JSON has not, stand for no value."""
    try:
        return json.loads(data.decode("utf-8-sig"), parse_constant=lambda _name: None)
    except (ValueError, RecursionError) as fault:
        raise Unreadable("The answer is not JSON. Check the address; it may lead to a page for people.") from fault
