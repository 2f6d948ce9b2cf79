"""Fetching the gauges that have a feed.

1. Which gauges are due? The database is asked every time; no message carries the only copy.
2. One is claimed by a conditional update that moves its next time out of reach of the others.
3. It is fetched outside any transaction.
4. Its readings and the outcome are one commit, and only while the claim and the address still hold.

Whoever dies on the way leaves a gauge that is due again when the claim runs out; readings that come
twice are the same readings.
"""

import datetime as dt
import logging
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any
from zoneinfo import ZoneInfo

from django.db import transaction
from django.db.models import Q, QuerySet

from beats.models import Gauge, Reading
from beats.outbound import OUT, Door, Fetched, NotFetched, fetch
from beats.services.levels import note_readings
from beats.services.river import CLOCK_SKEW
from beats.shared.rows import locked
from beats.water.feeds import environment_agency, kiwis, waterml
from beats.water.feeds.levels import Answer, Unreadable

log = logging.getLogger("rodtally.gauges")
EVERY = dt.timedelta(minutes=15)
CLAIM = dt.timedelta(minutes=5)  # longer than any fetching: see the task's own limit
FIRST_WAIT, LONGEST_WAIT = dt.timedelta(minutes=2), dt.timedelta(hours=6)
READERS = {
    Gauge.Feed.ENVIRONMENT_AGENCY: environment_agency.read,
    Gauge.Feed.KIWIS: kiwis.read,
    Gauge.Feed.WATERML: waterml.read,
}
UNPOLLED: dict[str, Any] = dict.fromkeys(
    ("poll_etag", "poll_modified", "poll_fault", "poll_notes", "polled_at", "next_poll_at")
) | {"poll_failures": 0}
"""A gauge whose feed was never fetched, or has just been given another address."""


@dataclass(frozen=True)
class Outcome:
    """What one fetching came to; `fault` is None when it came off."""

    added: int = 0
    fault: str | None = None


def due_gauges(now: dt.datetime) -> QuerySet[Gauge]:
    """Gauges with a feed whose time has come, the longest waiting first."""
    waited = Q(next_poll_at__isnull=True) | Q(next_poll_at__lte=now)
    return Gauge.objects.filter(waited, feed_url__isnull=False).order_by("next_poll_at", "id")


def claim(gauge_id: int, *, now: dt.datetime) -> Gauge | None:
    """Take a due gauge for a while, or None when it is not due or another has taken it."""
    gauge = due_gauges(now).filter(pk=gauge_id).first()
    if gauge is None:
        return None
    mine = due_gauges(now).filter(pk=gauge_id).update(next_poll_at=now + CLAIM)
    return Gauge.objects.select_related("fishery").filter(pk=gauge_id).first() if mine else None


def poll(gauge_id: int, *, clock: Callable[[], dt.datetime], door: Door = OUT) -> Outcome | None:
    """Fetch one gauge if it is due. Idempotent; any number may run at once. None when there was nothing to do.

    Takes a clock, not one instant: an answer may take seconds, and its readings are judged when it is there.
    """
    gauge = claim(gauge_id, now=clock())
    if gauge is None:
        return None
    try:
        fetched = fetch(gauge.feed_url, etag=gauge.poll_etag, modified=gauge.poll_modified, door=door)
        answer = None if fetched.body is None else _read(gauge, fetched.body)
    except (NotFetched, Unreadable) as fault:
        return _failed(gauge, str(fault), retry_after_s=getattr(fault, "retry_after_s", 0), now=clock())
    except Exception as fault:
        log.exception("gauge %s could not be fetched", gauge.pk)
        return _failed(gauge, f"A fault of ours: {type(fault).__name__}.", retry_after_s=0, now=clock())
    return _came(gauge, fetched, answer, now=clock())


def wait_after(failures: int) -> dt.timedelta:
    """How long to wait after the n-th failure in a row: 2 minutes, doubling, six hours at most."""
    return min(FIRST_WAIT * 2 ** min(failures - 1, 10), LONGEST_WAIT)


def _read(gauge: Gauge, body: bytes) -> Answer:
    zone = ZoneInfo(gauge.feed_zone) if gauge.feed_zone else None
    return READERS[Gauge.Feed(gauge.feed_kind)](body, zone=zone, unit=gauge.feed_unit)


@transaction.atomic
def _came(gauge: Gauge, fetched: Fetched, answer: Answer | None, *, now: dt.datetime) -> Outcome | None:
    try:
        locked(_still_ours(gauge))
    except Gauge.DoesNotExist:
        return None
    outcome = UNPOLLED | {"polled_at": now, "next_poll_at": now + EVERY}
    if answer is None:  # nothing changed: what was noted of the last answer still holds
        outcome |= {
            "poll_etag": gauge.poll_etag,
            "poll_modified": gauge.poll_modified,
            "poll_notes": gauge.poll_notes,
        }
        added = 0
    else:
        outcome |= {"poll_etag": fetched.etag, "poll_modified": fetched.modified}
        added, outcome["poll_notes"] = _keep(gauge, answer, now)
    Gauge.objects.filter(pk=gauge.pk).update(**outcome)
    return Outcome(added)


def _keep(gauge: Gauge, answer: Answer, now: dt.datetime) -> tuple[int, str | None]:
    """Note the levels; returns how many were new, and in words what was left out."""
    past = [level for level in answer.levels if level.at <= now + CLOCK_SKEW]
    noted = note_readings(gauge, past, source=Reading.Source.FEED, by=None, now=now)
    notes = list(answer.notes)
    if late := len(answer.levels) - len(past):
        notes.append(f"{late} left out: still to come")
    if noted.read_otherwise:
        notes.append(f"{noted.read_otherwise} at odds with the level that stands")
    return noted.added, "; ".join(notes)[:300] or None


def _failed(gauge: Gauge, fault: str, *, retry_after_s: int, now: dt.datetime) -> Outcome | None:
    failures = min(gauge.poll_failures + 1, 10_000)
    wait = max(wait_after(failures), min(dt.timedelta(seconds=retry_after_s), LONGEST_WAIT))
    noted = _still_ours(gauge).update(
        poll_failures=failures, poll_fault=fault[:300], polled_at=now, next_poll_at=now + wait
    )
    return Outcome(fault=fault) if noted else None


def _still_ours(gauge: Gauge) -> QuerySet[Gauge]:
    """The gauge, if nobody claimed it since and nobody gave it another feed."""
    return Gauge.objects.filter(
        pk=gauge.pk, next_poll_at=gauge.next_poll_at, feed_url=gauge.feed_url, feed_kind=gauge.feed_kind
    )
