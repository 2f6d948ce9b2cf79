"""Who has left the water lately, who entered it, and what may still be undone. Reads only."""

import datetime as dt
from dataclasses import dataclass

from beats.models import Fishery
from beats.queries import zone_of
from bookings.models import Guest
from safety.entry_words import Entry, entered, off_the_water
from sessions.models import Outing, OutingEntry
from sessions.services.undo import UNDO_FOR

Act = OutingEntry.Act
SHOWN_FOR = dt.timedelta(hours=12)
TOLD_FOR = dt.timedelta(hours=1)
MOST = 40


@dataclass(frozen=True)
class Left:
    """One angler off the water. `undo_until` is None once the two minutes are over."""

    outing: int
    name: str
    sentence: str
    undo_until: dt.datetime | None


def left_lately(fishery: Fishery, *, now: dt.datetime) -> list[Left]:
    """Check-outs of the last twelve hours, the newest first. One query."""
    rows = OutingEntry.objects.filter(act=Act.CHECK_OUT, at__gt=now - SHOWN_FOR, outing__beat__fishery=fishery)
    rows = rows.filter(outing__checked_out_at__isnull=False).select_related("outing__guest")
    newest: dict[int, OutingEntry] = {}
    for row in rows.order_by("-id")[:MOST]:
        newest.setdefault(row.outing_id, row)
    zone = zone_of(fishery)
    return [_left(row, now=now, zone=zone) for row in newest.values()]


def _left(row: OutingEntry, *, now: dt.datetime, zone: dt.tzinfo) -> Left:
    name, until = row.outing.guest.name, row.at + UNDO_FOR
    sentence = off_the_water(name, row.outing.checked_out_at, entry_of(row), zone=zone)
    return Left(row.outing_id, name, sentence, until.astimezone(zone) if now <= until else None)


def last_entries(outings: list[Outing], *, zone: dt.tzinfo) -> dict[int, str]:
    """Outing to what a keeper, or an undo, last entered about it, in words. One query."""
    rows = OutingEntry.objects.filter(outing__in=outings).exclude(act=Act.CHECK_OUT).order_by("id")
    return {row.outing_id: entered(entry_of(row), zone=zone) for row in rows}


def entry_of(row: OutingEntry) -> Entry:
    return Entry(row.act, row.by_name, row.by_angler, row.reported_by, row.reported_via, row.at)


@dataclass(frozen=True)
class Ended:
    """A guest's last check-out. Times are local to the river; `undo_until` is None once it is over."""

    outing: int
    left_at: dt.datetime
    undo_until: dt.datetime | None


def ended_lately(guest: Guest, *, now: dt.datetime) -> Ended | None:
    """What the guest's own pages say of a check-out received within the last hour. One query."""
    rows = OutingEntry.objects.filter(
        act=Act.CHECK_OUT, at__gt=now - TOLD_FOR, outing__guest=guest, outing__checked_out_at__isnull=False
    )
    row = rows.select_related("outing").order_by("-id").first()
    if row is None:
        return None
    zone, until = zone_of(guest.fishery), row.at + UNDO_FOR
    left_at = row.outing.checked_out_at.astimezone(zone)
    return Ended(row.outing_id, left_at, until.astimezone(zone) if now <= until else None)
