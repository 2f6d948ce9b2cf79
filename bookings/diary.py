"""Lets in a calendar, as RFC 5545 has it: an event for each day, told as cancelled when it is taken off.

An event keeps its UID for good; SEQUENCE grows with every change, so that a calendar that has the old
one puts the new one in its place (RFC 5545, sections 3.8.4.7 and 3.8.7.4). Instants are in UTC: the
clocks at the river may change over the let and the hours stay what they are at the river.
"""

import datetime as dt
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from icalendar import Calendar, Event

REFUSED = ("Cc", "Cs")
PRODUCT = "-//Rodtally//Diary//EN"


@dataclass(frozen=True)
class Happening:
    """One event. Without hours it takes the whole day. `uid` never changes; hours are those at the river."""

    uid: str
    day: dt.date
    summary: str
    sequence: int
    changed_at: dt.datetime
    hours: tuple[dt.time, dt.time] | None = None
    cancelled: bool = False
    location: str = ""
    description: str = ""


def calendar(name: str, happenings: Iterable[Happening], *, zone: ZoneInfo) -> bytes:
    """All events in the order of their days."""
    made = Calendar()
    made.add("prodid", PRODUCT)
    made.add("version", "2.0")
    made.add("method", "PUBLISH")
    made.add("name", _plain(name))
    made.add("x-wr-calname", _plain(name))  # what most programs read instead; common practice, no source
    for happening in sorted(happenings, key=lambda one: (one.day, one.uid)):
        made.add_component(_event(happening, zone))
    return bytes(made.to_ical())


def instants(day: dt.date, hours: tuple[dt.time, dt.time], zone: ZoneInfo) -> tuple[dt.datetime, dt.datetime]:
    """Hours of a day at the river as two instants in UTC, the second always later."""
    begin, end = (dt.datetime.combine(day, at, tzinfo=zone).astimezone(dt.UTC) for at in hours)
    return begin, end if end > begin else begin + dt.timedelta(hours=1)


def _event(happening: Happening, zone: ZoneInfo) -> Event:
    event = Event()
    event.add("uid", happening.uid)
    event.add("sequence", happening.sequence)
    event.add("dtstamp", happening.changed_at.astimezone(dt.UTC).replace(microsecond=0))
    begin: dt.date = happening.day
    end: dt.date = happening.day + dt.timedelta(days=1)
    if happening.hours:
        begin, end = instants(happening.day, happening.hours, zone)
    event.add("dtstart", begin)
    event.add("dtend", end)
    event.add("status", "CANCELLED" if happening.cancelled else "CONFIRMED")
    event.add("transp", "TRANSPARENT" if happening.cancelled else "OPAQUE")
    event.add("summary", _plain(f"{'Cancelled: ' if happening.cancelled else ''}{happening.summary}"))
    if happening.location:
        event.add("location", _plain(happening.location))
    if happening.description:
        event.add("description", _plain(happening.description))
    return event


def _plain(text: str) -> str:
    """Without the control characters that the standard does not allow in text."""
    return "".join(letter for letter in text if letter in "\t\n" or unicodedata.category(letter) not in REFUSED)
