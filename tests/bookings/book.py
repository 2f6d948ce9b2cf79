"""Short ways to ask the book for something, for the tests of letting."""

import datetime as dt

from django.utils import timezone

from bookings.services.lets import let_rods
from tests.factories import NOON, GuestFactory, keeper

MONDAY, SATURDAY = dt.date(2026, 5, 11), dt.date(2026, 5, 16)
WEEK = [MONDAY + dt.timedelta(days=n) for n in range(6)]


def let(beat, **asked):
    """A let of the week after NOON's, or what is asked instead."""
    facts = {"first_on": MONDAY, "last_on": SATURDAY, "rods": 2, "now": NOON}
    facts |= {} if "booker" in asked else {"booker": GuestFactory(fishery=beat.fishery)}
    facts |= {} if "by" in asked else {"by": keeper(beat.fishery)}
    return let_rods(beat, **(facts | asked))[0]


def claims(made):
    """(day, rod, guest) of each rod-day, in order."""
    return list(made.rod_days.order_by("day", "rod").values_list("day", "rod", "guest"))


def next_wednesday_in_may():
    """An open day in most districts, a year or more ahead, so that the notice is long."""
    first = dt.date(timezone.now().year + 2, 5, 1)
    return first + dt.timedelta(days=(2 - first.weekday()) % 7)
