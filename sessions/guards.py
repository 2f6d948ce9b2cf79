"""What the watch can and cannot do for somebody who goes on the water.

A check-in is never refused for it: a refusal would leave the angler on the water unrecorded. The watch lives in
an app above this one, which this one may not import; it registers functions here when Django starts.
"""

import datetime as dt
from collections.abc import Callable, Iterable
from dataclasses import dataclass

from beats.models import Beat
from bookings.models import Guest
from sessions.models import Outing
from sessions.watch_limits import ORDER, WatchLimit


@dataclass(frozen=True)
class GoingOut:
    """Who goes on the water, where, and whether alone; `by_watch`: the watch itself begins it, so it runs."""

    guest: Guest
    beat: Beat
    alone: bool
    now: dt.datetime
    by_watch: bool = False


Limiter = Callable[[GoingOut], Iterable[WatchLimit]]
Explainer = Callable[[Outing, dt.datetime], Iterable[str]]
Listener = Callable[[Outing, dt.datetime], None]
_limiters: list[Limiter] = []
_explainers: list[Explainer] = []
_tellers: list[Explainer] = []
_listeners: list[Listener] = []
_resumers: list[Callable[..., None]] = []


def limiter(find: Limiter) -> Limiter:
    """Register a function that names what the watch cannot do for somebody (a decorator)."""
    _limiters.append(find)
    return find


def explainer(explain: Explainer) -> Explainer:
    """Register a function that states what the watch cannot do for an outing (a decorator)."""
    _explainers.append(explain)
    return explain


def teller(say: Explainer) -> Explainer:
    """Register a function that adds sentences to what is told at check-in (a decorator)."""
    _tellers.append(say)
    return say


def on_check_in(listener: Listener) -> Listener:
    """Register a function that is called in the transaction of a check-in (a decorator)."""
    _listeners.append(listener)
    return listener


def limits_of(going: GoingOut) -> list[WatchLimit]:
    """Everything the watch cannot do for them, the gravest first."""
    found = {limit for find in _limiters for limit in find(going)}
    return [limit for limit in ORDER if limit in found]


def explained(outing: Outing, now: dt.datetime) -> list[str]:
    return [text for explain in _explainers for text in explain(outing, now)]


def told_by_all(outing: Outing, now: dt.datetime) -> list[str]:
    return [text for say in _tellers for text in say(outing, now)]


def checked_in(outing: Outing, now: dt.datetime) -> None:
    for listener in _listeners:
        listener(outing, now)


def resumer(resume: Callable[..., None]) -> Callable[..., None]:
    """Register a function that raises alarms again after an undone check-out (a decorator).

    It is called inside the transaction, with the open outing, `ended_at` (when the check-out was received) and
    `now`.
    """
    _resumers.append(resume)
    return resume


def resume_all(outing: Outing, *, ended_at: dt.datetime, now: dt.datetime) -> None:
    for resume in _resumers:
        resume(outing, ended_at=ended_at, now=now)
