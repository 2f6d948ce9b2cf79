"""A rod's turns for a calendar, as RFC 5545 has it.

Each turn keeps its UID whatever version of the rota it comes from, and SEQUENCE is the version: a
calendar that has the old event puts the new one in its place.
"""

import datetime as dt
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from icalendar import Calendar, Event

REFUSED = ("Cc", "Cs")
PRODUCT = "-//Rodtally//Rota//EN"
DO_NOT_FISH = "Do not fish: "
STATUS = {"draft": "TENTATIVE", "published": "CONFIRMED", "superseded": "CANCELLED"}


@dataclass(frozen=True)
class Entry:
    """One turn. `part` is its slug, `part_name` what people call it; `position` is (north, east).

    `warning` says why it must not be fished; empty where nothing that is known forbids it.
    """

    day: dt.date
    part: str
    part_name: str
    starts: dt.time
    ends: dt.time
    rod: int
    pool: str
    position: tuple[float, float] | None
    access: str
    warning: str = ""

    @property
    def key(self) -> tuple[dt.date, str, int]:
        return self.day, self.part, self.rod


@dataclass(frozen=True)
class Feed:
    """What all events of one calendar share. `beat_slug` and `fishery_slug` never change."""

    name: str
    fishery: str
    fishery_slug: str
    beat: str
    beat_slug: str
    first_on: dt.date
    version: int
    status: str
    stamp: dt.datetime
    zone: ZoneInfo
    meeting_point: str
    cautions: tuple[str, ...]


def calendar(feed: Feed, entries: Iterable[Entry], *, gone: Iterable[Entry] = ()) -> bytes:
    """The turns of the rota in force, and as CANCELLED those of `gone` that it no longer has."""
    made = Calendar()
    made.add("prodid", PRODUCT)
    made.add("version", "2.0")
    made.add("method", "PUBLISH")
    made.add("name", _plain(feed.name))
    kept = {entry.key: entry for entry in entries}
    lost = {entry.key: entry for entry in gone if entry.key not in kept}
    for entry in sorted(kept.values(), key=_order):
        made.add_component(_event(feed, entry, STATUS[feed.status]))
    for entry in sorted(lost.values(), key=_order):
        made.add_component(_event(feed, entry, "CANCELLED"))
    return bytes(made.to_ical())


def instants(day: dt.date, starts: dt.time, ends: dt.time, zone: ZoneInfo) -> tuple[dt.datetime, dt.datetime]:
    """A part of a day at the river as two instants in UTC, the second always later.

    Of an hour that comes twice the first is meant. A part that begins in an hour that the clocks skip
    keeps its length.
    """
    begin, end = (dt.datetime.combine(day, at, tzinfo=zone).astimezone(dt.UTC) for at in (starts, ends))
    if end <= begin:
        end = begin + (dt.datetime.combine(day, ends) - dt.datetime.combine(day, starts))
    return begin, end


def _order(entry: Entry) -> tuple[dt.date, dt.time, int]:
    return entry.day, entry.starts, entry.rod


def _event(feed: Feed, entry: Entry, status: str) -> Event:
    begin, end = instants(entry.day, entry.starts, entry.ends, feed.zone)
    lead = {"CANCELLED": "Cancelled: ", "TENTATIVE": "Draft: "}.get(status, "")
    if entry.warning and status != "CANCELLED":
        lead = f"{lead}{DO_NOT_FISH}"
    event = Event()
    event.add(
        "uid",
        uid_of(feed.fishery_slug, feed.beat_slug, feed.first_on, day=entry.day, part=entry.part, rod=entry.rod),
    )
    event.add("sequence", feed.version)
    event.add("dtstamp", feed.stamp.astimezone(dt.UTC).replace(microsecond=0))
    event.add("dtstart", begin)
    event.add("dtend", end)
    event.add("status", status)
    event.add("summary", _plain(f"{lead}{entry.pool}, {feed.beat}"))
    event.add("location", _plain(f"{entry.pool}, {feed.beat}, {feed.fishery}"))
    if entry.position:
        event.add("geo", entry.position)
    event.add("description", _plain(_description(feed, entry)))
    return event


def uid_of(fishery: str, beat: str, first_on: dt.date, *, day: dt.date, part: str, rod: int) -> str:
    """The name of a turn in every calendar, by slugs that never change."""
    return f"{fishery}.{beat}.{first_on}.{day}.{part}.rod{rod}@rodtally"


def _plain(text: str) -> str:
    """Without the control characters that the standard does not allow in text."""
    return "".join(letter for letter in text if letter in "\t\n" or unicodedata.category(letter) not in REFUSED)


def _description(feed: Feed, entry: Entry) -> str:
    hours = f"{entry.starts:%H:%M} to {entry.ends:%H:%M}"
    told = [entry.warning] if entry.warning else []
    told += [f"Rod {entry.rod}, {entry.part_name}, {hours} at the river. Rota version {feed.version}."]
    if entry.access:
        told.append(f"Way in: {entry.access}")
    if feed.meeting_point:
        told.append(f"Meet at: {feed.meeting_point}")
    return "\n".join([*told, *feed.cautions])
