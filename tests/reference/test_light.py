"""Sunrise, sunset and twilight against published tables and a second library.

Sources: USNO table for 60 N 0 E, 2019 (in cosinekitty/astronomy, generate/riseset); London values of
timeanddate.com as used by the astral test-suite; The Scotsman, December 2019, for Edinburgh and
Inverness (town coordinates ours); PyEphem 4.2 as the second library.
"""

import datetime as dt
from zoneinfo import ZoneInfo

import ephem
import pytest

from beats.light import light

LONDON = ZoneInfo("Europe/London")


def at(day, clock):
    return dt.datetime.fromisoformat(f"{day}T{clock}:00+00:00")


def close(found, expected, seconds=60):
    return abs((found - expected).total_seconds()) <= seconds


@pytest.mark.parametrize(
    ("day", "rise", "fall"),
    [
        ("2019-01-01", "09:02", "15:05"),
        ("2019-03-20", "06:03", "18:14"),
        ("2019-03-31", "05:29", "18:41"),
        ("2019-06-21", "02:36", "21:28"),
        ("2019-09-23", "05:46", "17:58"),
        ("2019-10-27", "07:08", "16:18"),
        ("2019-12-21", "09:02", "14:54"),
    ],
)
def test_usno_table_at_60_north(day, rise, fall):
    found = light(dt.date.fromisoformat(day), latitude=60, longitude=0, zone=LONDON)
    assert close(found.sunrise_at, at(day, rise), 90)  # the table is rounded to the minute
    assert close(found.sunset_at, at(day, fall), 90)


@pytest.mark.parametrize(
    ("day", "dawn", "rise", "fall", "dusk"),
    [
        ("2015-12-01", "07:04", "07:43", "15:55", "16:34"),
        ("2015-12-25", "07:25", "08:05", "15:55", "16:36"),
    ],
)
def test_london_table(day, dawn, rise, fall, dusk):
    found = light(dt.date.fromisoformat(day), latitude=51.50853, longitude=-0.12574, zone=LONDON)
    times = (found.first_light_at, found.sunrise_at, found.sunset_at, found.last_light_at)
    assert all(close(a, at(day, b), 90) for a, b in zip(times, (dawn, rise, fall, dusk), strict=True))


@pytest.mark.parametrize(
    ("latitude", "longitude", "day", "rise", "fall"),
    [
        (55.95, -3.19, "2019-12-11", "08:33", "15:38"),
        (55.95, -3.19, "2019-12-22", "08:42", "15:40"),
        (57.48, -4.22, "2019-12-10", "08:46", "15:32"),
        (57.48, -4.22, "2019-12-22", "08:57", "15:33"),
    ],
)
def test_a_newspapers_december(latitude, longitude, day, rise, fall):
    found = light(dt.date.fromisoformat(day), latitude=latitude, longitude=longitude, zone=LONDON)
    assert close(found.sunrise_at, at(day, rise), 120)
    assert close(found.sunset_at, at(day, fall), 120)


def by_ephem(day, latitude, longitude, horizon, *, rising, centre=False):
    place = ephem.Observer()
    place.lat, place.lon, place.pressure, place.horizon = str(latitude), str(longitude), 0, horizon
    noon = dt.datetime(day.year, day.month, day.day, 12, tzinfo=dt.UTC) - dt.timedelta(hours=longitude / 15)
    place.date = noon.replace(tzinfo=None)
    turn = place.previous_rising if rising else place.next_setting
    return turn(ephem.Sun(), use_center=centre).datetime().replace(tzinfo=dt.UTC)


@pytest.mark.parametrize("month", range(1, 13))
@pytest.mark.parametrize(("latitude", "longitude"), [(57.61, -5.35), (55.0, -2.0), (58.4, -3.5)])
def test_a_second_library_agrees(month, latitude, longitude):
    day = dt.date(2026, month, 21)
    found = light(day, latitude=latitude, longitude=longitude, zone=LONDON)
    where = (day, latitude, longitude)
    assert close(found.sunrise_at, by_ephem(*where, "-0:34", rising=True))
    assert close(found.sunset_at, by_ephem(*where, "-0:34", rising=False))
    assert close(found.first_light_at, by_ephem(*where, "-6", rising=True, centre=True), 180)
    assert close(found.last_light_at, by_ephem(*where, "-6", rising=False, centre=True), 180)


def test_midsummer_dusk_belongs_to_the_evening_even_after_midnight():
    found = light(dt.date(2026, 6, 21), latitude=60, longitude=-1, zone=LONDON)
    assert found.first_light_at < found.sunrise_at < found.sunset_at < found.last_light_at
    assert close(found.last_light_at, at("2026-06-21", "23:18"), 180)


def test_where_the_sun_does_not_set_the_answer_is_none():
    """Tromso (published by USNO): the sun never sets on 21 June, never rises on 21 December."""
    oslo = ZoneInfo("Europe/Oslo")
    june = light(dt.date(2026, 6, 21), latitude=69.65, longitude=18.96, zone=oslo)
    assert (june.sunrise_at, june.sunset_at, june.last_light_at) == (None, None, None)
    december = light(dt.date(2026, 12, 21), latitude=69.65, longitude=18.96, zone=oslo)
    assert december.sunrise_at is None
    assert close(december.first_light_at, at("2026-12-21", "08:31"), 180)
    assert light(dt.date(2026, 6, 21), latitude=90, longitude=0, zone=LONDON).sunset_at is None


@pytest.mark.parametrize(
    ("day", "local_sunrise"),
    [("2026-03-28", "05:57"), ("2026-03-29", "06:54"), ("2026-10-24", "08:11"), ("2026-10-25", "07:13")],
)
def test_the_clock_jumps_at_the_change_but_the_sun_does_not(day, local_sunrise):
    """57.5 N 4.2 W (PyEphem, with the times of 29 March and 25 October 2026 in our reference tables)."""
    found = light(dt.date.fromisoformat(day), latitude=57.5, longitude=-4.2, zone=LONDON)
    expected = dt.datetime.fromisoformat(f"{day}T{local_sunrise}:00").replace(tzinfo=LONDON)
    assert close(found.sunrise_at, expected, 90)
