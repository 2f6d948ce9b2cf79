"""Moon and springs against a published table, a second library, and the lag of three ports.

Moon Phases Table courtesy of Fred Espenak, www.Astropixels.com ("Phases of the Moon: 2001 to 2100"), to
the minute, UT. PyEphem is the second library.
"""

import datetime as dt
import itertools
import math

import ephem
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from beats.water.figures import BadFigure
from beats.water.moon import ONE_DAY, Range, elongation_deg, tides

NEW_2026 = (
    "01-18 19:52, 02-17 12:01, 03-19 01:23, 04-17 11:52, 05-16 20:01, 06-15 02:54, 07-14 09:44, 08-12 17:37, "
    "09-11 03:27, 10-10 15:50, 11-09 07:02, 12-09 00:52"
)
FULL_2026 = (
    "01-03 10:03, 02-01 22:09, 03-03 11:38, 04-02 02:12, 05-01 17:23, 05-31 08:45, 06-29 23:57, 07-29 14:36, "
    "08-28 04:18, 09-26 16:49, 10-26 04:12, 11-24 14:53, 12-24 01:28"
)
CLOSE = dt.timedelta(minutes=6)
EPOCH = dt.datetime(2001, 1, 1, tzinfo=dt.UTC)
INSTANTS = st.integers(0, 60 * 365 * 24 * 60).map(lambda minutes: EPOCH + dt.timedelta(minutes=minutes))
NEW_MOON = dt.datetime(2026, 8, 12, 17, 37, tzinfo=dt.UTC)
FULL_MOON = dt.datetime(2026, 8, 28, 4, 18, tzinfo=dt.UTC)


QUARTERS = ("new", "first quarter", "full", "last quarter")


def published(line, year=2026):
    return [dt.datetime.fromisoformat(f"{year}-{text}+00:00") for text in line.split(", ")]


def phases(start, end):
    """Each (elongation to the quarter, instant): with no lag, springs and neaps are at the phases themselves."""
    while start < end:
        coming = tides(start, lag_days=0)
        at = min(coming.next_springs_at, coming.next_neaps_at)
        yield QUARTERS[round(elongation_deg(at) / 90) % 4], at
        start = at + dt.timedelta(hours=1)


def year_of(phase, year=2026):
    start, end = (dt.datetime(n, 1, 1, tzinfo=dt.UTC) for n in (year, year + 1))
    return [at for found, at in phases(start, end) if found == phase and at < end]


@pytest.mark.parametrize(("phase", "line"), [("new", NEW_2026), ("full", FULL_2026)])
def test_a_published_year_of_moons(phase, line):
    found = year_of(phase)
    assert len(found) == len(published(line))
    assert all(abs(a - b) < CLOSE for a, b in zip(found, published(line), strict=True))


def test_quarters_and_full_moon_of_an_almanac():
    # US Naval Observatory minutes, as in skyfield's test-suite: 2018-09-16 23:15 and 2018-09-25 02:52.
    (quarter,) = [at for at in year_of("first quarter", 2018) if at.month == 9]
    (full,) = [at for at in year_of("full", 2018) if at.month == 9]
    assert abs(quarter - dt.datetime(2018, 9, 16, 23, 15, tzinfo=dt.UTC)) < CLOSE
    assert abs(full - dt.datetime(2018, 9, 25, 2, 52, tzinfo=dt.UTC)) < CLOSE


@given(INSTANTS)
@settings(max_examples=30)
def test_the_next_four_phases_are_those_of_a_second_library(at):
    after = {
        "new": ephem.next_new_moon,
        "first quarter": ephem.next_first_quarter_moon,
        "full": ephem.next_full_moon,
        "last quarter": ephem.next_last_quarter_moon,
    }
    start = at + dt.timedelta(minutes=10)  # so that no phase falls on the edge for one of the two only
    for phase, found in itertools.islice(phases(start, start + 29 * ONE_DAY), 4):
        second = after[phase](ephem.Date(at)).datetime().replace(tzinfo=dt.UTC)
        assert abs(found - second) < dt.timedelta(minutes=10)


def test_phases_come_in_their_order_and_none_twice():
    found = list(phases(dt.datetime(2025, 1, 1, tzinfo=dt.UTC), dt.datetime(2027, 1, 1, tzinfo=dt.UTC)))
    steps = [(QUARTERS.index(b) - QUARTERS.index(a)) % 4 for (a, _), (b, _) in itertools.pairwise(found)]
    assert set(steps) == {1}
    assert len(found) in (99, 100)  # two years of 365 days in quarters of 7.38


@pytest.mark.parametrize(
    ("port_lag", "day"), [(1, 13), (2, 14), (3, 15)], ids=["Dublin", "usual", "London Bridge"]
)
def test_springs_follow_the_new_moon_by_the_lag_of_the_port(port_lag, day):
    # UK Hydrographic Office, EasyTide: two days on average in UK waters, London Bridge three, Dublin one.
    found = tides(NEW_MOON, lag_days=port_lag).next_springs_at
    assert abs(found - (NEW_MOON + port_lag * ONE_DAY)) < CLOSE
    assert found.day == day


def test_tides_take_off_from_springs_to_neaps_and_make_again():
    springs = NEW_MOON + 2 * ONE_DAY
    told = [tides(springs + days * ONE_DAY).range for days in (-4, -1, 0, 1, 3, 7, 8, 11, 14, 16)]
    assert told == [
        Range.MAKING,
        Range.SPRINGS,
        Range.SPRINGS,
        Range.SPRINGS,
        Range.TAKING_OFF,
        Range.NEAPS,
        Range.NEAPS,
        Range.MAKING,
        Range.SPRINGS,
        Range.SPRINGS,
    ]


@given(INSTANTS, st.floats(0, 4))
@settings(max_examples=40)
def test_springs_and_neaps_are_never_more_than_a_fortnight_and_a_bit_away(at, lag):
    found = tides(at, lag_days=lag)
    for turn in (found.next_springs_at, found.next_neaps_at):
        assert -dt.timedelta(minutes=1) < turn - at < 16.5 * ONE_DAY
    assert abs(found.next_springs_at - found.next_neaps_at) > 6 * ONE_DAY


def test_the_moon_is_opposite_the_sun_when_full():
    assert elongation_deg(FULL_MOON) == pytest.approx(180, abs=0.05)


@pytest.mark.parametrize("lag", [math.nan, math.inf, -0.1, 4.1, "2"])
def test_a_lag_no_port_has_is_refused(lag):
    with pytest.raises(ValueError, match="from 0 to 4 days"):
        tides(NEW_MOON, lag_days=lag)


def test_a_time_without_a_zone_is_refused():
    with pytest.raises(BadFigure, match="says no time zone"):
        tides(NEW_MOON.replace(tzinfo=None))
