"""What is due in the book and not done: holds that ran out, weeks nobody was asked for."""

import datetime as dt
from dataclasses import dataclass

from bookings.services.holds import release_lapsed
from bookings.services.seasons import ask_next


@dataclass(frozen=True)
class Swept:
    """How much one round did; a second round straight after does nothing."""

    ran_out: int
    offers: int


def sweep(now: dt.datetime) -> Swept:
    ran_out = release_lapsed(now)
    return Swept(ran_out, ask_next(now))
