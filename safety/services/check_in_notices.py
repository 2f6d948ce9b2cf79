"""Keepers are told at once of a check-in that nobody may be watching: no keeper on duty, or the watch stopped."""

import datetime as dt

from beats.queries import zone_of
from safety.ladder import By
from safety.models import Delivery
from safety.priority import priority_of
from safety.services.people import Crew
from safety.services.writing import one_line
from safety.watch_limits import meeting
from sessions.models import Outing
from sessions.watch_limits import WatchLimit

TELLS = (WatchLimit.NOT_RUNNING, WatchLimit.NO_KEEPER)
WHY = {
    WatchLimit.NOT_RUNNING: "the watch is not running, so no alarm is raised until it runs",
    WatchLimit.NO_KEEPER: "nobody is on duty",
}


def notify_keepers(outing: Outing, now: dt.datetime) -> None:
    """One message to every keeper, in the transaction of the check-in. In company only a stopped watch counts."""
    reasons = [limit for limit in TELLS if limit in outing.watch_limits]
    if not reasons or not (outing.alone or WatchLimit.NOT_RUNNING in reasons):
        return
    fishery, crew = outing.beat.fishery, Crew(now)
    subject, body = _words(outing, " and ".join(WHY[limit] for limit in reasons))
    rows = {}
    for person in crew.keepers(fishery):
        for channel, recipient, _rank in (*person.ways((By.EMAIL, By.TEXT)), *crew.pushes(person)):
            rows[channel, recipient] = Delivery(
                outing=outing, fishery=fishery, priority=priority_of(Delivery.About.CHECK_IN),
                about=Delivery.About.CHECK_IN, channel=channel, recipient=recipient, person=person.key,
                subject=subject, body=body, written_at=now, next_try_at=now,
            )  # fmt: skip
    Delivery.objects.bulk_create(rows.values())


def _words(outing: Outing, why: str) -> tuple[str, str]:
    zone = zone_of(outing.beat.fishery)
    name, beat = one_line(outing.guest.name), one_line(outing.beat.name)
    company = "alone" if outing.alone else "in company"
    phone = outing.guest.phone
    number = f"Their number: {phone}." if phone else "They cannot be rung: no number is known."
    expected = meeting(one_line(outing.meeting_person), outing.meeting_at and outing.meeting_at.astimezone(zone))
    due = f"{outing.due_back_at.astimezone(zone):%H:%M}"
    lines = [
        f"{name} has checked in on {beat}, {company}, due back at {due}, and {why}.",
        f"Watch for them, or arrange who does. {number}" + (f" {expected}." if expected else ""),
        "When they are off the water, check them out. Rodtally is not an emergency service.",
    ]
    return f"{name} is on the water, due {due}: {why}"[:200], "\n".join(lines)
