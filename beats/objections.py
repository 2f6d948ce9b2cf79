"""Before the water changes, those who stand on it are asked.

Bookings, rotas and catches live in apps above this one, which this one may not import. They register
here, when Django starts, a function that looks at a change and says in words what it would orphan.
Foreign keys that protect their rows still have the last word.
"""

import datetime as dt
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from beats.models import Beat, DayPart, Pool


@dataclass(frozen=True)
class WaterChange:
    """What a new fishery file would take away."""

    now: dt.datetime
    pools: tuple[Pool, ...] = ()
    beats: tuple[Beat, ...] = ()
    parts: tuple[DayPart, ...] = ()
    fewer_rods: dict[Beat, int] = field(default_factory=dict)


Objector = Callable[[WaterChange], Iterable[str]]
_objectors: list[Objector] = []


def objector(ask: Objector) -> Objector:
    """Register a function to be asked before every change (a decorator)."""
    _objectors.append(ask)
    return ask


def objections(change: WaterChange) -> list[str]:
    return [text for ask in _objectors for text in ask(change)]


PolicyReader = Callable[[Mapping[str, Any]], str]
_policy_readers: list[PolicyReader] = []


def policy_reader(ask: PolicyReader) -> PolicyReader:
    """Register a function that says what is wrong with a beat's policy of the watch, or "" (a decorator)."""
    _policy_readers.append(ask)
    return ask


def policy_faults(policy: Mapping[str, Any]) -> list[str]:
    return [fault for ask in _policy_readers if (fault := ask(policy))]
