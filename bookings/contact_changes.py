"""What follows inside the transaction when a guest's contact details change.

Apps above this one keep facts that depend on them, such as whether an angler on the water can be rung, and may
not be imported here; each registers a listener when Django starts.
"""

import datetime as dt
from collections.abc import Callable

from bookings.models import Guest

Listener = Callable[[Guest, dt.datetime], None]
_listeners: list[Listener] = []


def on_contact_change(listener: Listener) -> Listener:
    """Register a listener (a decorator)."""
    _listeners.append(listener)
    return listener


def contact_changed(guest: Guest, *, now: dt.datetime) -> None:
    for listener in _listeners:
        listener(guest, now)
