"""An owner's file of readings: every fault with its line, and nothing guessed."""

import datetime as dt
from zoneinfo import ZoneInfo

import pytest

from beats.water.feeds import csv_readings
from beats.water.feeds.csv_readings import FaultyReadings
from beats.water.feeds.levels import Level

LONDON = ZoneInfo("Europe/London")
LATEST = dt.datetime(2026, 11, 1, tzinfo=dt.UTC)
EIGHT = dt.datetime(2026, 5, 4, 8, 0, tzinfo=dt.UTC)


def read(*lines, header="at,level_m"):
    data = "\n".join([header, *lines]).encode()
    return csv_readings.read(data, zone=LONDON, latest=LATEST)


def faults(*lines, header="at,level_m"):
    with pytest.raises(FaultyReadings) as refused:
        read(*lines, header=header)
    return refused.value.errors


def test_times_are_the_fisherys_unless_they_carry_an_offset_and_come_out_in_order():
    told = read("2026-05-04T10:00+02:00,0.61", "2026-05-04 08:59:00,0.60", "2026-05-04T08:01:00Z,0.62")
    minute = dt.timedelta(minutes=1)
    assert told == (Level(EIGHT - minute, 0.60), Level(EIGHT, 0.61), Level(EIGHT + minute, 0.62))


def test_columns_stand_in_any_order_and_the_waters_temperature_may_be_left_blank():
    told = read('11.5, 0.61 ,"2026-05-04 09:00"', ",0.62,2026-05-04 09:15", header="water_c,Level_M,at")
    assert told == (Level(EIGHT, 0.61, 11.5), Level(EIGHT + dt.timedelta(minutes=15), 0.62))


def test_the_same_line_twice_is_one_reading_and_blank_lines_are_none():
    assert read("2026-05-04 09:00,0.61", "", " , ", "2026-05-04T08:00Z,0.61") == (Level(EIGHT, 0.61),)


def test_a_spreadsheets_mark_at_the_start_and_its_line_ends_do_no_harm():
    data = b"\xef\xbb\xbfat,level_m\r\n2026-05-04 09:00,0.61\r\n"
    assert csv_readings.read(data, zone=LONDON, latest=LATEST) == (Level(EIGHT, 0.61),)


@pytest.mark.parametrize(
    ("cell", "says"),
    [
        ("0.61 ft", "Write the number alone"), ("2'1\"", "Write the number alone"),
        ("high", "no number of metres"), ("NaN", "no number"), ("inf", "no number"), ("-Infinity", "no number"),
        ("1e3", "no number"), ("", "no number"), ("٣", "no number"), ("🎣", "no number"),
        ("0x1", "no number"), ("1_0", "no number"), (".", "no number"),
        ("500.1", "beyond -50 to 500 metres"), ("-50.1", "beyond"), ("9" * 20, "beyond"),
    ],
)  # fmt: skip
def test_a_level_that_is_no_metres_is_refused_with_its_line(cell, says):
    quoted = '"' + cell.replace('"', '""') + '"'
    told = faults("2026-05-04 09:00,0.61", f"2026-05-04 09:15,{quoted}")
    assert list(told) == ["line 3"]
    assert says in told["line 3"][0]


@pytest.mark.parametrize(
    "at", ["04/05/2026 09:00", "2026-05-04", "2026-02-30 09:00", "9 o'clock", "", "1949-01-01 09:00"]
)
def test_a_time_that_is_none_is_refused_with_how_to_write_it(at):
    assert "Write it like 2026-05-04 17:00" in faults(f"{at},0.61")["line 2"][0]


def test_a_time_still_to_come_is_refused():
    assert faults("2026-11-01 00:01,0.61") == {"line 2": ["2026-11-01 00:01 is still to come. Check the date."]}
    assert len(read("2026-11-01 00:00,0.61")) == 1


def test_an_hour_that_came_twice_is_refused_with_the_two_ways_to_write_it():
    (text,) = faults("2026-10-25 01:30,0.61")["line 2"]
    assert text == (
        "2026-10-25 01:30 came twice: the clocks went back. "
        "Write which: 2026-10-25T01:30+01:00 or 2026-10-25T01:30+00:00."
    )
    told = read("2026-10-25T01:30+01:00,0.61", "2026-10-25T01:30+00:00,0.62")
    assert told[1].at - told[0].at == dt.timedelta(hours=1)


def test_an_hour_that_never_came_is_refused():
    assert "never came at Europe/London" in faults("2026-03-29 01:30,0.61")["line 2"][0]


def test_two_levels_for_one_instant_are_refused_with_both_lines():
    told = faults("2026-05-04 09:00,0.61", "2026-05-04T08:00Z,0.62")
    assert told == {"line 3": ["Line 2 gives another reading for the same instant. Keep one of them."]}


def test_every_fault_is_told_at_once_up_to_fifty():
    told = faults("x,0.61", "2026-05-04 09:00,y", "2026-05-04 09:15,0.6,7", *["x,y"] * 100)
    assert list(told) == [f"line {number}" for number in range(2, 52)]


@pytest.mark.parametrize(
    ("header", "says"),
    [
        ("at;level_m", "Separate the columns with commas"), ("at,level_ft", "level_ft is not metres"),
        ("at,level_cm", "level_cm is not metres"), ("time,level_m", "'time' is no column"),
        ("at", "level_m is missing"), ("level_m", "at is missing"), ("at,level_m,at", "named twice"),
        ("2026-05-04 09:00,0.61", "is no column"),
    ],
)  # fmt: skip
def test_a_first_line_that_names_other_columns_is_refused(header, says):
    assert says in faults(header=header)["line 1"][0]


@pytest.mark.parametrize("water", ["-1.1", "40.1", "warm"])
def test_water_no_river_has_is_refused(water):
    assert list(faults(f"2026-05-04 09:00,0.61,{water}", header="at,level_m,water_c")) == ["line 2"]


@pytest.mark.parametrize("data", [b"", b" \n", b"\xff\xfea\x00t\x00", b'at,level_m\n"2026', b"at,level_m\n\x00,1"])
def test_what_is_no_csv_is_refused(data):
    with pytest.raises(FaultyReadings):
        csv_readings.read(data, zone=LONDON, latest=LATEST)


def test_a_file_of_a_first_line_alone_holds_no_readings():
    assert read() == ()
