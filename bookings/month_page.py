"""A month of free rods as a table for a small screen: the API's own page, in the style of all the others.

It has neither their head nor their script, since whoever asks by a token has no sign-in to offer it to.
"""

import datetime as dt
from collections.abc import Sequence
from typing import Any

from beats.pages.show import CSS
from bookings.availability import BeatDay, Standing, weeks
from bookings.openings import BeatSpan

DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


def page_facts(fishery: str, first: dt.date, found: Sequence[BeatSpan]) -> dict[str, Any]:
    """What the template shows: a table a beat, and once each why days are closed."""
    return {
        "css": CSS,
        "fishery": fishery,
        "month": f"{first:%B %Y}",
        "names": [(day[:3], day) for day in DAYS],
        "beats": [
            {"beat": span.beat, "weeks": weeks(span.days), "reasons": _reasons(span.days)} for span in found
        ],
    }


def _reasons(days: Sequence[BeatDay]) -> list[str]:
    """Each reason with the days it closes, as "3, 10, 17: Nobody may fish for salmon on a Sunday."."""
    closed: dict[str, list[str]] = {}
    for each in days:
        if each.standing is Standing.CLOSED:
            closed.setdefault(each.reason, []).append(str(each.day.day))
    return [f"{', '.join(numbers)}: {reason}" for reason, numbers in closed.items()]
