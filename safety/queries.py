"""Who may see which alarms, and is the watch itself alive?"""

import datetime as dt
from dataclasses import dataclass

from django.db import connection
from django.db.models import QuerySet

from beats.models import User
from beats.queries import fisheries_kept_by
from beats.shared import words
from safety.models import Alarm, Delivery, Pulse

SWEEP_STALE_AFTER = dt.timedelta(seconds=60)
ALARM_LATE_AFTER = dt.timedelta(seconds=60)
DELIVERY_STUCK_AFTER = dt.timedelta(minutes=5)


@dataclass(frozen=True)
class WatchHealth:
    """What is wrong with the watch, in words; empty when nothing is known to be."""

    faults: tuple[str, ...]
    swept_at: dt.datetime | None


def alarms_visible_to(user: User) -> QuerySet[Alarm]:
    """Keepers see their fishery's alarms; guests see none."""
    kept = Alarm.objects.filter(outing__beat__fishery__in=fisheries_kept_by(user))
    return kept.select_related("outing__guest", "outing__beat", "outing__pool").prefetch_related("deliveries")


def watch_health(*, now: dt.datetime) -> WatchHealth:
    """Is the sweep running, is every due outing noted, is every message leaving? Three queries.

    Written apart from the sweep: it counts what should be there rather than asking what was done.
    """
    faults = []
    pulse = Pulse.objects.filter(name="sweep").first()
    if pulse is None or now - pulse.beaten_at > SWEEP_STALE_AFTER:
        since = f"since {words.instant(pulse.beaten_at)} UTC" if pulse else "yet"
        faults.append(f"The watch has not swept {since}. Nobody is being watched: ring round, and restart it.")
    missed = _due_without_alarm(now - ALARM_LATE_AFTER)
    if missed:
        faults.append(f"{missed} overdue without an alarm. Ring them, and look at the watch's log.")
    stuck = Delivery.objects.filter(written_at__lt=now - DELIVERY_STUCK_AFTER).exclude(state=Delivery.State.SENT)
    if count := stuck.count():
        faults.append(f"{count} messages have not left. Tell the keepers by telephone.")
    return WatchHealth(tuple(faults), pulse.beaten_at if pulse else None)


def _due_without_alarm(before: dt.datetime) -> int:
    """Counted in plain SQL, apart from the code it checks."""
    with connection.cursor() as cursor:
        cursor.execute(
            """
            SELECT COUNT(*) FROM fishing_sessions_outing o
            WHERE o.checked_out_at IS NULL AND o.alarm_at < %s AND NOT EXISTS (
                SELECT 1 FROM safety_alarm a
                WHERE a.outing_id = o.id AND a.deadline_number = o.deadline_number)
            """,
            [connection.ops.adapt_datetimefield_value(before)],
        )
        return cursor.fetchone()[0]
