"""What waits for the owner of a fishery. Reads only."""

import datetime as dt
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import Exists, OuterRef

from beats.models import Fishery
from beats.queries import local_day
from bookings import reckoning, tariff
from bookings.cancelled_lets import cancelled_by_bookers
from bookings.closed_lets import LetOnClosedDays, lets_on_closed_days
from bookings.models import Let, Offer
from sessions.models import Catch, Return, ReturnDue
from sessions.queries import BeatDay, flagged_fish, rotas_of_day


@dataclass(frozen=True)
class Desk:
    """Each list soonest first."""

    today: dt.date
    rights: list[Offer]
    holds: list[Let]
    returns: list[ReturnDue]
    flagged: list[Catch]
    overdue: list[tariff.Due]
    overdue_sum: Decimal
    currency: str
    beats: list[BeatDay]
    closed_lets: list[LetOnClosedDays]
    cancelled: list[Let]

    @property
    def is_clear(self) -> bool:
        lets = self.closed_lets or self.cancelled or self.rights or self.holds
        return not (lets or self.returns or self.flagged or self.overdue)


def desk_of(fishery: Fishery, *, now: dt.datetime) -> Desk:
    """Up to seventeen queries, eleven where nothing is let."""
    today, terms = local_day(fishery, now), reckoning.terms_of(fishery)
    held = Let.objects.filter(beat__fishery=fishery, status=Let.Status.HELD, expires_at__gt=now)
    held = held.select_related("beat", "booker").order_by("expires_at", "id")
    rights = Offer.objects.filter(let__in=held).select_related("let__booker", "let__beat")
    overdue = [due for due in reckoning.open_dues(fishery, terms=terms, today=today) if due.due_on < today]
    signed = Return.objects.filter(fishery=fishery, season=OuterRef("season"))
    return Desk(
        today=today,
        rights=list(rights.order_by("let__expires_at", "id")),
        holds=list(held.filter(offer__isnull=True)),
        returns=list(ReturnDue.objects.filter(~Exists(signed), fishery=fishery).order_by("due_on")),
        flagged=list(flagged_fish(fishery, today.year)),
        overdue=sorted(overdue, key=lambda due: due.due_on),
        overdue_sum=sum((due.amount for due in overdue), tariff.NOTHING),
        currency=terms.currency,
        beats=rotas_of_day(fishery, today),
        closed_lets=lets_on_closed_days(fishery, now=now),
        cancelled=cancelled_by_bookers(fishery, now=now),
    )
