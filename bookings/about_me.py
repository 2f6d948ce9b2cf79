"""What is held about a guest: each app says what it holds, how to tell it, and how to forget it.

Apps above this one hold outings, fish and alarms, and this one may not import them; each registers a
holding when Django starts. Telling serves the right of access (UK GDPR, article 15), forgetting the
right to erasure (article 17) and the ICO's storage limitation principle (article 5(1)(e)): nothing that
names a person is kept longer than it is needed; what counts the season's fish and the year's money
stays without the name.
"""

import datetime as dt
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any

from django.db.models import QuerySet

from beats.models import User
from beats.shared.refusals import Refusal
from bookings.models import Guest


class StillNeeded(Refusal):
    """Something is open that cannot be settled without knowing who the guest is."""

    code = "still-needed"
    title = "Not yet"


def _nothing(_guest: Guest, _now: dt.datetime) -> Iterable[str]:
    return ()


@dataclass(frozen=True)
class Holding:
    """One kind of thing held.

    `tell` gives plain rows; `forget` takes the name out; `still_needed` says in words why not yet;
    `guests_since` are the ids of guests who did something of the kind since an instant.
    """

    name: str
    tell: Callable[[Guest], list[dict[str, Any]]]
    forget: Callable[[Guest, dt.datetime], None] | None = None
    still_needed: Callable[[Guest, dt.datetime], Iterable[str]] = _nothing
    guests_since: Callable[[dt.datetime], QuerySet] | None = None
    of_account: bool = False
    """Held for the person's own account and not for a fishery: told to that person alone."""


_account_parts: list[Callable[[User], None]] = []
_holdings: list[Holding] = []


def hold(holding: Holding) -> None:
    """Register a holding; once at start."""
    _holdings.append(holding)


def forget_with_account(forget: Callable[[User], None]) -> None:
    """Register what goes with an account that has no part at any fishery; once at start."""
    _account_parts.append(forget)


def account_parts() -> tuple[Callable[[User], None], ...]:
    return tuple(_account_parts)


def holdings() -> tuple[Holding, ...]:
    return tuple(_holdings)
