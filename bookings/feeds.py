"""What one calendar feed shows, from the database. Reads only; no telephone number, no address of anybody."""

import datetime as dt
from collections import defaultdict

from django.db.models import Max, Min, QuerySet

from beats.authentication import digest_of
from beats.models import Fishery, Membership
from beats.queries import local_day, zone_of
from bookings.calendar_sources import from_elsewhere
from bookings.diary import Happening, calendar
from bookings.models import CalendarFeed, DiaryDay, RodDay
from bookings.papers.parts import one_line

BACK = dt.timedelta(days=400)


def feed_of(secret: str) -> CalendarFeed | None:
    """The feed a secret opens, if whoever asked for it may still see what it shows. Two queries at most."""
    related = CalendarFeed.objects.select_related("fishery", "beat", "guest", "ghillie")
    feed = related.filter(digest=digest_of(secret), revoked_at__isnull=True).first()
    if feed is None:
        return None
    if feed.guest_id:
        return feed if feed.guest.erased_at is None else None
    whose = feed.ghillie_id or feed.made_by_id
    kept = Membership.objects.filter(fishery=feed.fishery, user=whose, role__in=Membership.KEEPERS)
    return feed if kept.exists() else None


def calendar_of(feed: CalendarFeed, *, now: dt.datetime) -> bytes:
    """The feed as text/calendar: the last year, and all that is to come."""
    fishery = feed.fishery
    rows = _rows(feed).filter(day__gte=local_day(fishery, now) - BACK)
    rows = list(rows.select_related("beat", "let__booker").order_by("day", "id"))
    names = {} if feed.guest_id else _names({row.let_id for row in rows})
    hours = _hours(fishery)
    happenings = [_happening(row, fishery, hours, names.get((row.let_id, row.day), [])) for row in rows]
    if feed.guest_id:
        happenings += from_elsewhere(feed.guest, now=now)
    return calendar(_title(feed), happenings, zone=zone_of(fishery))


def _rows(feed: CalendarFeed) -> QuerySet[DiaryDay]:
    if feed.guest_id:
        return DiaryDay.objects.filter(guest=feed.guest_id)
    rows = DiaryDay.objects.filter(guest__isnull=True)
    return rows.filter(beat=feed.beat_id) if feed.beat_id else rows.filter(beat__fishery=feed.fishery_id)


def _hours(fishery: Fishery) -> tuple[dt.time, dt.time] | None:
    """From the first part of the fishing day to the end of the last; none when the fishery has no parts."""
    span = fishery.parts.aggregate(starts=Min("starts"), ends=Max("ends"))
    return (span["starts"], span["ends"]) if span["starts"] else None


def _names(lets: set[int]) -> dict[tuple[int, dt.date], list[str]]:
    told = defaultdict(list)
    rows = RodDay.objects.filter(let__in=lets, guest__isnull=False).select_related("guest").order_by("rod")
    for row in rows:
        told[row.let_id, row.day].append(one_line(row.guest.name))
    return told


def _happening(
    row: DiaryDay, fishery: Fishery, hours: tuple[dt.time, dt.time] | None, names: list[str]
) -> Happening:
    rods = f"{row.rods} rod{'s' if row.rods > 1 else ''}"
    whose = f"guest{row.guest_id}" if row.guest_id else "beat"
    booker = one_line(row.let.booker.name)
    fishing = f" Fishing: {', '.join(names)}." if names else ""
    told = "" if row.guest_id else f"Booked by {booker}.{fishing}"
    return Happening(
        uid=f"{fishery.slug}.let{row.let_id}.{row.day}.{whose}@rodtally",
        day=row.day,
        summary=f"{row.beat.name}: {rods}" if row.guest_id else f"{row.beat.name}: {rods}, {booker}",
        sequence=row.sequence,
        changed_at=row.changed_at,
        hours=hours,
        cancelled=row.gone_at is not None,
        location=row.beat.meeting_point or f"{row.beat.name}, {fishery.name}",
        description=told,
    )


def _title(feed: CalendarFeed) -> str:
    if feed.guest_id:
        return f"Fishing at {feed.fishery.name}"
    return f"{feed.beat.name}, {feed.fishery.name}" if feed.beat_id else f"Rods at {feed.fishery.name}"
