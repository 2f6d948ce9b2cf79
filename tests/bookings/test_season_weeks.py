"""The same week of another year.

Checked against SSI 2014/327, Schedule, entry 51 (Wester Ross: rods from 11 February): the season of
2026 begins on Wednesday 11 February, that of 2027 on Thursday 11 February. In 2029, where 11 February
is a Sunday, the day after (2003 Act, section 13).
"""

import datetime as dt

import pytest

from beats import close_times, season
from bookings.season_weeks import days_of_let, days_of_week, same_day, week_of, within

FIRST = {year: season.season(close_times.close_time("51"), year).first_on for year in (2026, 2027, 2028, 2029)}


def test_the_seasons_begin_on_the_statutory_days():
    """11 February, or the Monday after when that is a Sunday."""
    assert [(day.month, day.day, day.weekday()) for day in FIRST.values()] == [
        (2, 11, 2), (2, 11, 3), (2, 11, 4), (2, 12, 0),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("month", "day", "week"), [(2, 9, 1), (2, 11, 1), (2, 14, 1), (2, 16, 2), (5, 4, 13), (2, 7, 0)]
)
def test_a_week_is_counted_from_the_one_that_holds_the_first_day(month, day, week):
    assert week_of(dt.date(2026, month, day), FIRST[2026]) == week


def test_the_same_week_keeps_its_number_and_weekday_not_its_date():
    day = same_day(dt.date(2026, 5, 4), was=FIRST[2026], now=FIRST[2027])
    assert (day, day.weekday(), week_of(day, FIRST[2027])) == (dt.date(2027, 5, 3), 0, 13)


def test_the_twenty_ninth_of_february_becomes_the_day_of_its_week():
    leap = dt.date(2028, 2, 29)  # a Tuesday of week 4
    day = same_day(leap, was=FIRST[2028], now=FIRST[2029])
    assert (week_of(leap, FIRST[2028]), day, day.weekday()) == (4, dt.date(2029, 3, 6), leap.weekday())


@pytest.mark.parametrize("years", [(2026, 2027), (2027, 2028), (2028, 2029)])
def test_every_day_comes_back_from_the_other_year(years):
    was, now = (FIRST[year] for year in years)
    days = [was + dt.timedelta(days=n) for n in range(260)]
    there = [same_day(day, was=was, now=now) for day in days]
    assert [same_day(day, was=now, now=was) for day in there] == days
    assert [week_of(day, now) for day in there] == [week_of(day, was) for day in days]


def test_closed_days_at_the_ends_are_left_off_and_a_closed_week_is_none():
    week = days_of_week(dt.date(2027, 2, 11))
    assert within(week, set(week[:3])) == (week[3], week[5])
    assert within(week, set(week)) is None


def test_season_rods_fish_one_weekday_a_week():
    days = days_of_let(dt.date(2026, 5, 1), dt.date(2026, 5, 31), 3)
    assert [day.day for day in days] == [7, 14, 21, 28]
