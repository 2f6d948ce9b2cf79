"""Dates and spans of time as a person would say them."""

import datetime as dt

from beats.shared.phrases import Phrase, say


def day(date: dt.date) -> Phrase:
    """4 May 2026"""
    return say("{date.day} {date:%B %Y}", date=date)


def weekday(date: dt.date) -> Phrase:
    """Monday 4 May"""
    return say("{date:%A} {date.day} {date:%B}", date=date)


def clock(at: dt.datetime) -> str:
    """17:05, in the zone of `at`."""
    return f"{at.hour:02}:{at.minute:02}"


def instant(at: dt.datetime) -> Phrase:
    """17:05 on Monday 4 May, in the zone of `at`."""
    return say("{at:%H:%M} on {weekday}", at=at, weekday=weekday(at))


def minutes(count: int) -> Phrase:
    """40 min, 5 h, 3 days: rounded down, for an age."""
    if count < 120:
        return say("{count} min", count=count)
    return say("{count} h", count=count // 60) if count < 2880 else say("{count} days", count=count // 1440)
