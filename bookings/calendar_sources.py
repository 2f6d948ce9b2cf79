"""What else a guest's calendar shows: apps above this one register what they know.

This app may not import those, so each registers, when Django starts, a function from a guest and the time to
events.
"""

import datetime as dt
from collections.abc import Callable, Iterable

from bookings.diary import Happening
from bookings.models import Guest

Source = Callable[[Guest, dt.datetime], Iterable[Happening]]
_sources: list[Source] = []


def calendar_source(ask: Source) -> Source:
    """Register a function to be asked for every guest's calendar (a decorator)."""
    _sources.append(ask)
    return ask


def from_elsewhere(guest: Guest, *, now: dt.datetime) -> list[Happening]:
    return [happening for ask in _sources for happening in ask(guest, now)]
