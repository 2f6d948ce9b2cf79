"""How soon and how rightly `rising` was shown, against the true stage. Pure.

The definitions are those of the goals that `manage.py bench_onset` prints; where they leave a choice both are
given. Series are lists of stages in metres at a fixed cadence; None is a reading that is missing.
"""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median

HOUR_GAIN_M, FIRST_RISE_M = 0.3, 0.03
"""An onset is the first quarter of an hour that rises `FIRST_RISE_M` within an hour that gains `HOUR_GAIN_M`."""
TRUE_RISE_M = 0.15
"""A false onset: an episode of `rising` with no such rise within three hours."""
FIXED_RULE_M = 0.08
"""The rule that is printed beside: so much over two readings."""
QUARTERS, EVENT_GAP, FALSE_AFTER = 4, 24, 12
SAME = 1e-9
MONTH = dt.timedelta(days=30.44)
QUARTER = dt.timedelta(minutes=15)


@dataclass(frozen=True)
class Score:
    """Delays in minutes from each onset to `rising`, None where it was missed; false onsets a month.

    `from_start`: from the start of the first quarter of an hour that rises; `from_end`: from its end. `false`: no
    rise of 0.15 m above the lowest stage of the hour before; `false_strict`: none above the stage at that reading.
    """

    from_end: tuple[int | None, ...]
    from_start: tuple[int | None, ...]
    false: float
    false_strict: float
    episodes: int

    @property
    def missed(self) -> int:
        return sum(delay is None for delay in self.from_end)


def onsets(stages: Sequence[float], *, starts_hour: bool = False, gap: int = EVENT_GAP) -> list[int]:
    """Places of the readings before each first rise; a new one after `gap` readings without.

    `starts_hour`: the rise must begin the hour that gains 0.3 m; else it may lie anywhere in it.
    """
    found: set[int] = set()
    for start in range(len(stages) - QUARTERS):
        if stages[start + QUARTERS] - stages[start] < HOUR_GAIN_M - SAME:
            continue
        places = range(start, start + 1) if starts_hour else range(start, start + QUARTERS)
        first = next((n for n in places if stages[n + 1] - stages[n] >= FIRST_RISE_M - SAME), None)
        if first is not None:
            found.add(first)
    events: list[int] = []
    last = -gap - 1
    for place in sorted(found):
        if place - last > gap:
            events.append(place)
        last = place
    return events


def score(rising: Sequence[bool | None], stages: Sequence[float], events: Sequence[int]) -> Score:
    """Of `rising` at each quarter of an hour (None: no reading came) against the true stages."""
    shown = [next((n for n in range(at, min(at + EVENT_GAP, len(rising))) if rising[n]), None) for at in events]
    minutes = QUARTER // dt.timedelta(minutes=1)
    pairs = list(zip(shown, events, strict=True))
    began = episodes(rising)
    highest = [max(stages[at : at + FALSE_AFTER + 1]) for at in began]
    lowest = [min(stages[max(0, at - QUARTERS) : at + 1]) for at in began]
    months = len(stages) * QUARTER / MONTH
    risen = list(zip(began, highest, lowest, strict=True))
    return Score(
        tuple(None if at is None else max(0, at - event - 1) * minutes for at, event in pairs),
        tuple(None if at is None else (at - event) * minutes for at, event in pairs),
        sum(top - low < TRUE_RISE_M - SAME for _, top, low in risen) / months,
        sum(top - stages[at] < TRUE_RISE_M - SAME for at, top, _ in risen) / months,
        len(began),
    )


def episodes(rising: Sequence[bool | None]) -> list[int]:
    """Places at which `rising` begins; a missing reading neither begins nor ends it."""
    began, before = [], False
    for place, now in enumerate(rising):
        if now is None:
            continue
        if now and not before:
            began.append(place)
        before = now
    return began


def fixed_rule(stages: Sequence[float | None]) -> list[bool | None]:
    """The rule beside: the newest reading is `FIXED_RULE_M` above the one two readings before."""
    last: list[float] = []
    found: list[bool | None] = []
    for stage in stages:
        if stage is None:
            found.append(None)
            continue
        last = [*last[-2:], stage]
        found.append(len(last) == 3 and last[2] - last[0] >= FIXED_RULE_M - SAME)
    return found


def middle(delays: Sequence[int | None]) -> float:
    """The median in minutes; a missed onset counts as infinitely late."""
    return median(float("inf") if delay is None else float(delay) for delay in delays) if delays else float("nan")


def latest(delays: Sequence[int | None]) -> float:
    """The longest delay in minutes; infinite where an onset was missed."""
    return max((float("inf") if delay is None else float(delay) for delay in delays), default=float("nan"))
