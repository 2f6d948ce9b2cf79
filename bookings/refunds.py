"""How much of the price goes back, by the notice given."""

import datetime as dt
from collections.abc import Iterable


def refund_percent(steps: Iterable[tuple[int, int]], *, first_on: dt.date, today: dt.date) -> int:
    """The percent of the longest notice that was kept; 0 when none was, or nothing is written.

    `steps` are (days of notice, percent) in any order; notice is counted in whole days from `today`
    to the first day given back, so a let that begins tomorrow has one day of notice.
    """
    notice = (first_on - today).days
    kept = sorted((days, percent) for days, percent in steps if days <= notice)
    return kept[-1][1] if kept else 0
