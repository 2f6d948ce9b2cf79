"""Dates and spans of time as a person would say them."""

import datetime as dt


def day(date: dt.date) -> str:
    """4 May 2026"""
    return f"{date.day} {date:%B %Y}"


def weekday(date: dt.date) -> str:
    """Monday 4 May"""
    return f"{date:%A} {date.day} {date:%B}"


def clock(at: dt.datetime) -> str:
    """17:05, in the zone of `at`."""
    return f"{at.hour:02}:{at.minute:02}"


def instant(at: dt.datetime) -> str:
    """17:05 on Monday 4 May, in the zone of `at`."""
    return f"{at:%H:%M} on {weekday(at)}"


def minutes(count: int) -> str:
    """40 min, 5 h, 3 days: rounded down, for an age."""
    if count < 120:
        return f"{count} min"
    return f"{count // 60} h" if count < 2880 else f"{count // 1440} days"
