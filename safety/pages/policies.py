"""What this fishery promises, in plain words: how it lets, and what the watch does when somebody is late."""

import datetime as dt

from beats.models import Beat
from beats.pages.door import OWNER, page
from beats.pages.house import shown_at
from beats.queries import local_day, zone_of
from beats.shared import words
from bookings import reckoning
from bookings.services.holds import policy_of as letting_policy_of
from safety.days import promise

FIVE = dt.time(17)


@page(OWNER)
def policies(request, *, now, fishery):
    letting = letting_policy_of(fishery)
    steps = letting.refund_steps.order_by("-notice_days") if letting.pk else []
    facts = {
        "hold": words.minutes(letting.hold_minutes),
        "offer": words.minutes(letting.offer_minutes),
        "steps": list(steps),
        "terms": reckoning.terms_of(fishery),
        "watched": [
            watch_of(beat, now=now) for beat in Beat.objects.filter(fishery=fishery).order_by("name", "id")
        ],
    }
    return shown_at(request, fishery, "safety/policies.html", facts)


def watch_of(beat: Beat, *, now: dt.datetime) -> dict:
    """A beat's ladder as somebody is told it who is to be back at five today, alone and in company."""
    due = dt.datetime.combine(local_day(beat.fishery, now), FIVE, tzinfo=zone_of(beat.fishery))
    return {
        "beat": beat,
        "alone": promise(beat, due_back_at=due, alone=True, now=now),
        "company": promise(beat, due_back_at=due, alone=False, now=now),
        "lone_grace_minutes": beat.lone_grace_minutes,
        "grace_minutes": beat.grace_minutes,
    }
