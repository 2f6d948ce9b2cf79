"""What one fishery may take of a service that many share, so that none of them can fill it for the rest.

Figures of our own: many times what a busy estate needs. Whoever runs the service sets others by FISHERY_SHARES.
Check-ins, calls for help, alarms and their messages have no share: they are never held back for it.
"""

import datetime as dt
from types import MappingProxyType

from django.conf import settings
from django.db.models import QuerySet

from beats.models import Fishery
from beats.shared.limits import TooOften, spend
from beats.shared.phrases import say
from beats.shared.refusals import Refusal

HOUR = dt.timedelta(hours=1)
AN_HOUR = MappingProxyType({"rotas": 300, "books": 300, "imports": 120})
"""Work that keeps a processor busy: rotas, a season's files and statistics, spreadsheets and old books."""
IN_ALL = MappingProxyType(
    {"guests": 20_000, "waiting": 2_000, "hooks": 20, "keys": 100, "calendars": 2_000, "rotas waiting": 200}
)
"""Rows that are looked through or sent to; keys are those of machines, each kind for itself."""


class FullShare(Refusal):
    """No room for one more of a kind."""

    code = "full-share"
    title = say("No more room")
    status = 409


def share_of(what: str) -> int:
    """How many; an hour or in all."""
    return settings.FISHERY_SHARES.get(what, AN_HOUR.get(what) or IN_ALL[what])


def take(what: str, fishery: Fishery, *, now: dt.datetime) -> None:
    """Count one more of the hour's share; raises TooOften when it is used up. Several at once are never one."""
    most = share_of(what)
    try:
        spend(f"share of {what}", str(fishery.pk), allowed=most, each=HOUR, now=now)
    except TooOften:
        raise TooOften(
            say(
                "{fishery_name} has asked for {most} {what} within an hour, which is its share of "
                "this service. Wait until the hour is over, or ask whoever runs the service for a "
                "larger one.",
                fishery_name=fishery.name,
                most=most,
                what=what,
            )
        ) from None


def refuse_when_full(what: str, there: QuerySet) -> None:
    """Raises FullShare when the fishery has its share of these rows. Two at once may both be the last."""
    if there.count() >= (most := share_of(what)):
        raise FullShare(
            say(
                "A fishery's share of this service is {most} {what}, and it is taken. Take out some "
                "that are not needed, or ask whoever runs the service for more.",
                most=most,
                what=what,
            )
        )
