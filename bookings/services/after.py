"""What follows from every change of a let, in the transaction that makes it.

Every verb that confirms, changes or cancels a let calls one of these last: the price is charged or
credited, calendars learn of it, whoever asked to be told gets a message. The letter to whoever booked
is not written here: a sweep finds that the let has an edition nobody was told of. Of a hold nothing is
charged and nobody is told, until it is confirmed; what was entered by hand on it goes along with it.
"""

import datetime as dt

from django.db.models import F

from beats.models import User
from bookings.models import HookMessage, Let
from bookings.services.agreed_prices import agree_prices, give_up_cancelled
from bookings.services.diary import keep_diary
from bookings.services.hooks import write_messages
from bookings.services.ledger import hand_over

Event = HookMessage.Event


def let_confirmed(let: Let, *, by: User | None, now: dt.datetime, priced: bool = False) -> None:
    """With `priced` it is part of a let that was confirmed before, and brought its agreed prices along."""
    if not priced:
        agree_prices(let, by=by, now=now)
    keep_diary(let, now=now)
    write_messages(let, Event.CONFIRMED, now=now)


def let_changed(let: Let, *, by: User | None, now: dt.datetime, only_names: bool = False) -> None:
    """Days, rods, beat, booker or names are other than they were: a new edition.

    With `only_names` rod-days and beat are as they were, and no price changes.
    """
    hand_over(let, by=by, now=now)
    if let.confirmed_at is None:
        return
    _next_edition(let)
    if not only_names:
        agree_prices(let, by=by, now=now)
    keep_diary(let, now=now)
    write_messages(let, Event.CHANGED, now=now)


def let_cancelled(let: Let, *, freed: int, by: User, now: dt.datetime) -> None:
    """`freed` rod-days were taken off; what is left was fished. `Let.refund_percent` says what goes back."""
    if let.confirmed_at is None:
        return
    _next_edition(let)
    if freed:
        give_up_cancelled(let, by=by, now=now)
    keep_diary(let, now=now)
    write_messages(let, Event.CANCELLED, now=now)


def _next_edition(let: Let) -> None:
    Let.objects.filter(pk=let.pk).update(edition=F("edition") + 1)
    let.refresh_from_db(fields=["edition"])
