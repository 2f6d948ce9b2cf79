"""What is in force on a beat at the moment, such as a recall: apps above this one register what they know.

This app may not import those, so each registers, when Django starts, a function from beats to the calls in force.
"""

import datetime as dt
from collections.abc import Callable, Iterable
from dataclasses import dataclass


@dataclass(frozen=True)
class BeatCall:
    """Rods are called off a beat. `pools` are the pools meant; empty for the whole beat."""

    beat: int
    pools: frozenset[int]
    reason: str


Source = Callable[[Iterable[int], dt.datetime], Iterable[BeatCall]]
_sources: list[Source] = []


def beat_call_source(ask: Source) -> Source:
    """Register a function from beats and the time to the calls in force on them (a decorator)."""
    _sources.append(ask)
    return ask


def calls_in_force(beats: Iterable[int], now: dt.datetime) -> list[BeatCall]:
    beats = list(beats)
    return [call for ask in _sources for call in ask(beats, now)] if beats else []
