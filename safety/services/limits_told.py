"""What the watch cannot do for an angler now, read from the database and put in sentences."""

import datetime as dt

from beats.models import Beat
from beats.queries import zone_of
from bookings.models import Guest
from safety import policy
from safety.services.people import Crew
from safety.watch_limits import Case, sentences
from sessions.guards import GoingOut, limits_of
from sessions.models import Outing


def limits_told(
    guest: Guest, beat: Beat, *, alone: bool, now: dt.datetime, outing: Outing | None = None, ask: bool = True
) -> list[str]:
    """The limits in sentences, the gravest first; `ask`: with the question who expects the angler."""
    limits = limits_of(GoingOut(guest, beat, alone, now))
    if not limits:
        return []
    crew, fishery, zone = Crew(now), beat.fishery, zone_of(beat.fishery)
    case = Case(
        fishery=fishery.name, phone=fishery.phone, keepers=bool(crew.keepers(fishery)), alone=alone,
        witness=crew.policy(beat).when_stale == policy.WITNESS,
        alarm_at=outing.alarm_at.astimezone(zone) if outing else None,
        meeting_person=outing.meeting_person if outing else "",
        meeting_at=outing.meeting_at.astimezone(zone) if outing and outing.meeting_at else None,
        ask=ask,
    )  # fmt: skip
    return sentences(limits, case)
