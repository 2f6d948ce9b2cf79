"""Sunrise, sunset and twilight against published tables and a second library: never later, and not much earlier.

Sources: USNO tables for Stockholm, 2026 (in mourner/suncalc, test/fixtures.json); USNO
table for 60 N 0 E, 2019 (in cosinekitty/astronomy, generate/riseset); London values of
timeanddate.com as used by the astral test-suite; The Scotsman, December 2019, for Edinburgh and
Inverness (town coordinates ours); PyEphem 4.2 as the second library.
"""

import datetime as dt
import math
from zoneinfo import ZoneInfo

import ephem
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

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


# --- Never towards light ------------------------------------------------------------------------

MINUTE = dt.timedelta(minutes=1)
DEEPEST_DEG = 0.06
"""Of ephem's sun at our instants, above the height that the event is defined by."""
PLACES = {"latitude": st.floats(49, 61), "longitude": st.floats(-8.5, 2)}


def ephem_height(at, latitude, longitude):
    place = ephem.Observer()
    place.lat, place.lon, place.pressure = str(latitude), str(longitude), 0
    place.date = at.replace(tzinfo=None)
    sun = ephem.Sun(place)
    return float(sun.alt) * 180 / math.pi


def or_none(*where, **more):
    try:
        return by_ephem(*where, **more)
    except (ephem.AlwaysUpError, ephem.NeverUpError):
        return None


@given(day=st.dates(dt.date(2020, 1, 1), dt.date(2045, 12, 31)), **PLACES)
@settings(max_examples=400)
def test_no_last_light_is_later_and_no_first_light_earlier_than_the_second_library_s(day, latitude, longitude):
    found = light(day, latitude=latitude, longitude=longitude, zone=LONDON)
    where = (day, latitude, longitude)
    for horizon, first, last in (
        ("-6", found.first_light_at, found.last_light_at),
        ("-0:34", found.sunrise_at, found.sunset_at),
    ):
        centre = horizon == "-6"
        rise, fall = (or_none(*where, horizon, rising=rising, centre=centre) for rising in (True, False))
        # Where the sun only grazes the height, ephem may find nothing, and we may say that it gets dark.
        assert rise is None or (first is not None and first >= rise)
        assert fall is None or (last is not None and last <= fall)


@given(day=st.dates(dt.date(2020, 1, 1), dt.date(2045, 12, 31)), **PLACES)
@settings(max_examples=400)
def test_nor_is_it_careful_beyond_reason(day, latitude, longitude):
    """By the sun's height, since a time means little where the sun sinks hardly at all."""
    found = light(day, latitude=latitude, longitude=longitude, zone=LONDON)
    for at, height in (
        (found.first_light_at, -6.0), (found.sunrise_at, -50 / 60), (found.sunset_at, -50 / 60),
        (found.last_light_at, -6.0),
    ):  # fmt: skip
        if at is not None:
            assert height <= ephem_height(at, latitude, longitude) <= height + DEEPEST_DEG


@pytest.mark.parametrize("latitude", [57.6, 58.6, 60.15, 60.5])
def test_in_every_week_of_a_year_it_is_minutes_at_most(latitude):
    """57.6 N: within 30 s; 60.5 N in midsummer, where the sun grazes 6 degrees: within three minutes."""
    most = {57.6: 30, 58.6: 40, 60.15: 90, 60.5: 180}[latitude]
    for week in range(53):
        day = dt.date(2026, 1, 1) + week * dt.timedelta(days=7)
        found = light(day, latitude=latitude, longitude=-3.0, zone=LONDON)
        fall = by_ephem(day, latitude, -3.0, "-6", rising=False, centre=True)
        assert dt.timedelta(0) <= fall - found.last_light_at <= dt.timedelta(seconds=most)


@pytest.mark.parametrize(
    ("day", "dawn", "rise", "fall", "dusk"),
    [
        ("2026-01-03", "06:49", "07:43", "14:02", "14:56"),
        ("2026-03-20", "04:09", "04:50", "17:02", "17:43"),
        ("2026-06-01", "00:27", "01:44", "19:49", "21:06"),
        ("2026-09-23", "03:53", "04:34", "16:45", "17:25"),
        ("2026-12-21", "06:48", "07:43", "13:48", "14:44"),
    ],
)
def test_the_published_figure_is_never_passed(day, dawn, rise, fall, dusk):
    """USNO, Stockholm 59.32938 N 18.06871 E. Rounded to the minute: half a minute on the far side is the same."""
    found = light(
        dt.date.fromisoformat(day), latitude=59.32938, longitude=18.06871, zone=ZoneInfo("Europe/Stockholm")
    )
    half = MINUTE / 2
    assert at(day, dawn) - half <= found.first_light_at <= at(day, dawn) + 2 * MINUTE
    assert at(day, rise) - half <= found.sunrise_at <= at(day, rise) + MINUTE
    assert at(day, fall) - MINUTE <= found.sunset_at <= at(day, fall) + half
    assert at(day, dusk) - 2 * MINUTE <= found.last_light_at <= at(day, dusk) + half


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
