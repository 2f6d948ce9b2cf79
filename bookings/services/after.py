"""What follows from every change of a let, in the transaction that makes it.

Every verb that confirms, changes or cancels a let calls one of these last: the price is charged or
credited, calendars learn of it, whoever asked to be told gets a message. The letter to whoever booked
is not written here: a sweep finds that the let has an edition nobody was told of.
"""

import datetime as dt

from django.db.models import F

from beats.models import User
from beats.queries import local_day
from bookings.models import HookMessage, Let
from bookings.services.diary import keep_diary
from bookings.services.hooks import write_messages
from bookings.services.ledger import charge, credit

Event = HookMessage.Event


def let_confirmed(let: Let, *, by: User | None, now: dt.datetime) -> None:
    charge(let, by=by, now=now)
    keep_diary(let, now=now)
    write_messages(let, Event.CONFIRMED, now=now)


def let_changed(let: Let, *, by: User | None, now: dt.datetime) -> None:
    """Days, rods, beat, booker or names are other than they were: a new edition."""
    _next_edition(let)
    charge(let, by=by, now=now)
    keep_diary(let, now=now)
    write_messages(let, Event.CHANGED, now=now)


def let_cancelled(let: Let, *, freed: int, first_freed_on: dt.date, by: User, now: dt.datetime) -> None:
    """`freed` rod-days were taken off, the first of them on `first_freed_on`; what is left was fished."""
    _next_edition(let)
    notice_days = (first_freed_on - local_day(let.beat.fishery, now)).days
    if freed:
        credit(let, freed=freed, kept=let.rod_days.count(), notice_days=notice_days, by=by, now=now)
    keep_diary(let, now=now)
    write_messages(let, Event.CANCELLED, now=now)


def _next_edition(let: Let) -> None:
    Let.objects.filter(pk=let.pk).update(edition=F("edition") + 1)
    let.refresh_from_db(fields=["edition"])
