"""What would have been shown of a gauge, and which recalls been in force, at each reading as it arrives. Pure.

The same record of readings and the same decision as the live service, with the readings known up to then and no
others. Recalls of a gauge by itself: its level and its rise; pools, tides, darkness and public warnings are not
replayed. A sweep is taken to follow each reading.
"""

import datetime as dt
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from beats.water.gauge_history import FlatRun
from beats.water.trend import USUAL, Habits, Reading, Record, State
from safety.rising import Marks, gauge_calls


@dataclass(frozen=True)
class Shown:
    """One reading: its state, and the causes of the recalls in force after it, sorted."""

    state: State
    recall: tuple[str, ...]

    def as_json(self) -> dict[str, Any]:
        """For JSON: times in UTC, metres, metres an hour; null is not known, and nothing unconfirmed."""
        state = self.state
        rate = state.rise_m_per_h
        return {
            "time": state.at.isoformat().replace("+00:00", "Z"),
            "stage_m": state.level_m,
            "trusted": state.trusted,
            "unconfirmed": None if state.unconfirmed is None else state.unconfirmed.value,
            "rise_m_per_h": None if rate is None else round(rate, 3),
            "rising": state.rising,
            "recall": list(self.recall),
        }


def replay(
    readings: Iterable[tuple[dt.datetime, float]], *, marks: Marks, habits: Habits = USUAL
) -> Iterator[Shown]:
    """Each reading (UTC instant, metres), in the order of time. Raises BadFigure for one that cannot be."""
    record = Record(habits, FlatRun())
    standing: frozenset[str] = frozenset()
    for at, level_m in readings:
        record.add(Reading(at, level_m))
        state = record.state(at)
        if state is None:
            continue
        standing = gauge_calls(list(record.recent), state, marks, standing=standing)
        yield Shown(state, tuple(sorted(standing)))
