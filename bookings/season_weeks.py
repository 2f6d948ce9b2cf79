"""Weeks of the season: the same week of another year, though the dates move.

Week 1 is the Monday-to-Saturday week that holds the first day of the statutory rod season
(`beats.season.season`); a day keeps its number and its weekday from year to year.
Counting a tenancy by week of the season is common practice, no source.
"""

import datetime as dt
from collections.abc import Collection, Sequence

WEEK = dt.timedelta(days=7)


def monday(day: dt.date) -> dt.date:
    return day - dt.timedelta(days=day.weekday())


def week_of(day: dt.date, season_first_on: dt.date) -> int:
    """Which week of the season a day is in; 1 is the season's first, 0 and below lie before it."""
    return (monday(day) - monday(season_first_on)).days // 7 + 1


def monday_of(week: int, season_first_on: dt.date) -> dt.date:
    """Where a week of the season begins, that of its first day being the first."""
    return monday(season_first_on) + (week - 1) * WEEK


def same_day(day: dt.date, *, was: dt.date, now: dt.date) -> dt.date:
    """The day of the same week and weekday in the season that begins on `now` instead of `was`."""
    return monday_of(week_of(day, was), now) + dt.timedelta(days=day.weekday())


def days_of_week(day: dt.date) -> list[dt.date]:
    """Monday to Saturday of the week a day is in."""
    first = monday(day)
    return [first + dt.timedelta(days=n) for n in range(6)]


def within(days: Sequence[dt.date], closed: Collection[dt.date]) -> tuple[dt.date, dt.date] | None:
    """First and last of a run once closed days at either end are left off; None when all are closed."""
    open_days = [day for day in days if day not in closed]
    return (open_days[0], open_days[-1]) if open_days else None


def days_of_let(first_on: dt.date, last_on: dt.date, weekday: int | None) -> list[dt.date]:
    """The days a let fishes: all of them, or with a weekday (Monday is 0) those of that name."""
    days = [first_on + dt.timedelta(days=n) for n in range((last_on - first_on).days + 1)]
    return days if weekday is None else [day for day in days if day.weekday() == weekday]
