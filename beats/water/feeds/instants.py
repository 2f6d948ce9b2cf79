"""A time as a feed or a file writes it, as an instant in UTC."""

import datetime as dt
from enum import Enum


class Odd(Enum):
    """Why a written time names no one instant."""

    NO_TIME = "no readable time"
    NO_ZONE = "a time without a zone"
    TWICE = "a time that came twice when the clocks went back"
    NEVER = "a time that the clocks skipped when they went forward"


def instant(text: object, *, zone: dt.tzinfo | None) -> dt.datetime | Odd:
    """The instant (UTC) of an ISO 8601 time, or what is odd about it.

    A time that carries its offset needs no zone; any other is read in `zone`, the feed's own as
    its owner declared it, and is NO_ZONE where none was declared. A date alone names no instant.
    """
    if not isinstance(text, str) or len(text.strip()) <= 10:
        return Odd.NO_TIME
    try:
        written = dt.datetime.fromisoformat(text.strip())
    except ValueError:
        return Odd.NO_TIME
    if not 1950 <= written.year <= 2200:
        return Odd.NO_TIME
    if written.tzinfo is not None:
        return written.astimezone(dt.UTC)
    return Odd.NO_ZONE if zone is None else _in_zone(written, zone)


def _in_zone(written: dt.datetime, zone: dt.tzinfo) -> dt.datetime | Odd:
    """PEP 495: the two folds of a clock time differ only where the clocks change."""
    first = written.replace(tzinfo=zone, fold=0)
    second = written.replace(tzinfo=zone, fold=1)
    if first.utcoffset() == second.utcoffset():
        return first.astimezone(dt.UTC)
    there_and_back = first.astimezone(dt.UTC).astimezone(zone).replace(tzinfo=None)
    return Odd.TWICE if there_and_back == written else Odd.NEVER
