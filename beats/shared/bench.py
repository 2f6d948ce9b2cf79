"""What every benchmark here prints: one table for people, or with --json one object for machines."""

import json
import platform
import statistics
import time
from collections.abc import Callable, Iterable, Sequence
from dataclasses import asdict, dataclass
from os import cpu_count
from typing import Any


@dataclass(frozen=True)
class Row:
    """One figure beside what it is measured against, and whether it keeps its goal."""

    case: str
    value: float
    unit: str
    baseline: float | None = None
    goal: str = ""
    holds: bool | None = None

    @property
    def ratio(self) -> float | None:
        return round(self.value / self.baseline, 3) if self.baseline else None


def spent(act: Callable[[], object]) -> float:
    """Seconds by the wall clock."""
    began = time.perf_counter()
    act()
    return time.perf_counter() - began


def by_turns(
    rounds: int, *acts: Callable[[], object], clock: Callable[[], float] = time.perf_counter
) -> list[float]:
    """The median seconds of each act. They take turns, so that a busy machine slows all of them alike."""
    taken: list[list[float]] = [[] for _ in acts]
    for _ in range(rounds):
        for act, seconds in zip(acts, taken, strict=True):
            began = clock()
            act()
            seconds.append(clock() - began)
    return [statistics.median(seconds) for seconds in taken]


def below(limit: float, case: str, value: float, unit: str, baseline: float | None = None) -> Row:
    """A row whose goal is to stay under a limit."""
    return Row(case, value, unit, baseline, f"under {limit:g} {unit}", value < limit)


def within(times: float, case: str, value: float, unit: str, baseline: float) -> Row:
    """A row whose goal is to stay under so many times its baseline."""
    return Row(case, value, unit, baseline, f"under {times:g} x the baseline", value < times * baseline)


def printed(rows: Sequence[Row], *, as_json: bool) -> str:
    return json.dumps(_plain(rows)) if as_json else "\n".join(_table(rows))


def _plain(rows: Iterable[Row]) -> dict[str, Any]:
    told = [asdict(row) | {"ratio": row.ratio} for row in rows]
    return {"rows": told, "cores": cpu_count(), "python": platform.python_version()}


def _table(rows: Sequence[Row]) -> list[str]:
    width = max(len(row.case) for row in rows)
    head = f"{'case':{width}}  {'value':>12} {'baseline':>12} {'ratio':>8}  goal"
    return [head, *(_line(row, width) for row in rows)]


def _line(row: Row, width: int) -> str:
    base = "" if row.baseline is None else f"{row.baseline:.4g}"
    ratio = "" if row.ratio is None else f"{row.ratio:.3g}"
    kept = {True: "holds", False: "MISSED", None: ""}[row.holds]
    goal = f"{row.goal}: {kept}" if row.goal else ""
    return f"{row.case:{width}}  {row.value:>12.4g} {base:>12} {ratio:>8}  {row.unit}  {goal}".rstrip()
