"""Before somebody goes out alone, those who watch are asked; and what they promise is told.

The watch lives in an app above this one, which this one may not import. It registers here, when
Django starts, a function that may refuse a check-in and one that says what happens if nobody is heard.
"""

import datetime as dt
from collections.abc import Callable, Iterable
from dataclasses import dataclass

from beats.models import Beat, User
from bookings.models import Guest
from sessions.models import Outing


@dataclass(frozen=True)
class GoingOut:
    """Who wants to go out, where, alone or not, and who says so."""

    guest: Guest
    beat: Beat
    alone: bool
    by: User
    now: dt.datetime


Guard = Callable[[GoingOut], None]
Teller = Callable[[Outing, dt.datetime], Iterable[str]]
_guards: list[Guard] = []
_tellers: list[Teller] = []
_resumers: list[Callable[..., None]] = []


def guard(ask: Guard) -> Guard:
    """Register a function that raises a refusal when somebody may not go out so (a decorator)."""
    _guards.append(ask)
    return ask


def teller(say: Teller) -> Teller:
    """Register a function that adds sentences to what is told at check-in (a decorator)."""
    _tellers.append(say)
    return say


def ask_all(going: GoingOut) -> None:
    for ask in _guards:
        ask(going)


def told_by_all(outing: Outing, now: dt.datetime) -> list[str]:
    return [text for say in _tellers for text in say(outing, now)]


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
