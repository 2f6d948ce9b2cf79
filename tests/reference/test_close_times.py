"""The season against the published law.

Sources: SSI 2014/327, Schedule (as made); 2003 Act s.13 and s.37; "Spring Conservation Measures"
(Marine Scotland) for Eachaig and Esk; a published report of the Tay's opening in 2023.
"""

import datetime as dt

import pytest

from beats.close_times import UnknownDistrict, close_time, table
from beats.season import Grade, HouseRule, LawNotHeld, MonthDay, Period, Status, ruling, season

MONDAY_LAW = dt.date(2026, 5, 4)


def status(entry, day, **more):
    return ruling(close_time(entry), day, **more).status


@pytest.mark.parametrize(
    ("entry", "day", "expected"),
    [
        # 46 Spey: closed 27 Aug - 31 Mar, rods to 30 Sep, release only 11 Feb - 31 Mar.
        ("46", "2026-02-10", Status.CLOSED),
        ("46", "2026-02-11", Status.RELEASE_ONLY),
        ("46", "2026-03-31", Status.RELEASE_ONLY),
        ("46", "2026-04-01", Status.OPEN),
        ("46", "2026-08-26", Status.OPEN),
        ("46", "2026-08-27", Status.OPEN),
        ("46", "2026-09-30", Status.OPEN),
        ("46", "2026-10-01", Status.CLOSED),
        ("46", "2026-12-31", Status.CLOSED),
        ("46", "2027-01-01", Status.CLOSED),
        # 19 Eachaig: close time to 30 April and no rod period in spring.
        ("19", "2026-04-30", Status.CLOSED),
        ("19", "2026-05-01", Status.OPEN),
        ("19", "2026-10-31", Status.OPEN),
        ("19", "2026-11-02", Status.CLOSED),
        # 20b North and South Esk: release only from 16 February to 30 April.
        ("20b", "2026-02-16", Status.RELEASE_ONLY),
        ("20b", "2026-04-30", Status.RELEASE_ONLY),
        ("20b", "2026-05-01", Status.OPEN),
        # 40 Nith: the latest end, 30 November.
        ("40", "2026-11-30", Status.OPEN),
        ("40", "2026-12-01", Status.CLOSED),
        # 27 Helmsdale: the earliest opening, 11 January (a Sunday in 2026).
        ("27", "2027-01-11", Status.RELEASE_ONLY),
        ("27", "2026-01-11", Status.CLOSED),
    ],
)
def test_days_at_the_edges_of_the_schedule(entry, day, expected):
    assert status(entry, dt.date.fromisoformat(day)) is expected


def test_the_tay_opened_on_a_monday_in_2023_because_the_15th_was_a_sunday():
    found = season(close_time("48a"), 2023)
    assert found.first_on == dt.date(2023, 1, 16)
    assert found.last_on == dt.date(2023, 10, 14)  # 15 October 2023 was a Sunday too


def test_nobody_may_fish_on_any_sunday_of_any_district():
    sundays = [dt.date(2026, 1, 4) + dt.timedelta(weeks=n) for n in range(52)]
    assert {status(entry, day) for entry in table() for day in sundays} == {Status.CLOSED}


def test_every_close_time_is_at_least_168_days_long():
    """2003 Act s.37(1)."""
    year = [dt.date(2026, 1, 1) + dt.timedelta(days=n) for n in range(365)]
    lengths = {entry: sum(row.closed.holds(day) for day in year) for entry, row in table().items()}
    assert min(lengths.values()) >= 168
    # Counted from the printed dates: Cree 199, Annan and Nith 203, the common form 217, main Tay 223.
    assert {entry: lengths[entry] for entry in ("12", "1", "40", "46", "48a", "20b", "19")} == {
        "12": 199, "1": 203, "40": 203, "46": 217, "48a": 223, "20b": 242, "19": 242,
    }  # fmt: skip


def test_the_table_is_whole():
    """77 rows for 53 numbered entries, each with its source and the day it came into force."""
    assert len(table()) == 77
    numbers = {int(entry.rstrip("abcdefg")) for entry in table()}
    assert numbers == set(range(1, 54))
    assert {row.valid_from for row in table().values()} == {dt.date(2015, 1, 9)}
    assert all("SSI 2014/327" in row.source for row in table().values())


def test_rod_periods_lie_inside_the_close_time():
    year = [dt.date(2026, 1, 1) + dt.timedelta(days=n) for n in range(365)]
    for row in table().values():
        for period in (row.rods, row.release):
            if period:
                assert all(row.closed.holds(day) for day in year if period.holds(day)), row.entry


def test_doubtful_rows_say_so():
    for entry in ("1", "50"):
        assert any("Ask the district board" in text for text in ruling(close_time(entry), MONDAY_LAW).cautions)


def test_the_grade_changes_on_the_first_of_april():
    """SSI 2025/390 came into force on 1 April 2026: the grade is looked up by date."""
    grades = [(dt.date(2025, 4, 1), Grade.MODERATE), (dt.date(2026, 4, 1), Grade.POOR)]
    assert status("48a", dt.date(2026, 3, 31), grades=grades) is Status.RELEASE_ONLY  # column 4
    may = ruling(close_time("48a"), MONDAY_LAW, grades=grades)
    assert may.status is Status.RELEASE_ONLY
    assert may.reasons[0].fish == "salmon"  # SSI 2016/115 does not cover sea trout
    assert status("48a", dt.date(2025, 5, 5), grades=grades) is Status.OPEN


def test_without_a_grade_the_answer_carries_a_caution():
    assert "No conservation grade" in ruling(close_time("46"), MONDAY_LAW).cautions[-1]


def test_a_house_rule_makes_a_day_stricter_and_never_looser():
    closed = HouseRule(Status.CLOSED, Period(MonthDay(5, 1), MonthDay(5, 10)), "Resting the water.")
    assert status("46", MONDAY_LAW, house_rules=[closed]) is Status.CLOSED
    gentle = HouseRule(Status.RELEASE_ONLY, Period(MonthDay(1, 1), MonthDay(12, 31)), "All fish go back.")
    assert status("46", dt.date(2026, 12, 15), house_rules=[gentle]) is Status.CLOSED
    with pytest.raises(ValueError, match="stricter"):
        HouseRule(Status.OPEN, closed.period, "Open all year.")


def test_a_period_may_run_over_new_year_and_hold_a_leap_day():
    winter = Period(MonthDay(11, 1), MonthDay(2, 29))
    assert winter.holds(dt.date(2028, 2, 29))
    assert winter.holds(dt.date(2027, 2, 28))
    assert not winter.holds(dt.date(2027, 3, 1))


def test_days_before_the_law_held_are_refused():
    with pytest.raises(LawNotHeld, match="9 January 2015"):
        ruling(close_time("46"), dt.date(2015, 1, 8))


def test_an_unknown_district_says_where_to_look():
    with pytest.raises(UnknownDistrict, match=r"close_times\.csv"):
        close_time("99")
