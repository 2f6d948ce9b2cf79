"""Short ways to ask the book for something, for the tests of letting."""

import datetime as dt

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
