"""What the gauge's readings say, against a published station, a second library, and a jump of ten metres."""

import datetime as dt
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import theilslopes

from beats.water.figures import BadFigure
from beats.water.quality import QUARTER
from beats.water.trend import (
    MOST_READINGS,
    Band,
    Habits,
    Reading,
    _thinned,
    band,
    is_jump,
    marked,
    rise_m_per_h,
    state,
    theil_sen,
)

NOON = dt.datetime(2026, 5, 4, 12, tzinfo=dt.UTC)
LEVELS = st.lists(st.floats(0, 2), min_size=3, max_size=20)


def quarters(*levels, last=NOON):
    """Readings a quarter of an hour apart, the last at noon."""
    return [Reading(last - QUARTER * (len(levels) - 1 - n), level) for n, level in enumerate(levels)]


def test_a_published_station_stands_within_its_typical_range():
    # Environment Agency flood-monitoring API, station 1029TH: 0.076 m at 02:45 UTC on 6 July 2017; typical
    # range 0.068 to 0.42 m; highest recent 0.602, lowest on record 0.05.
    at = dt.datetime(2017, 7, 6, 2, 45, tzinfo=dt.UTC)
    found = state([Reading(at, 0.076)], now=at, typical_m=(0.068, 0.42))
    assert (found.level_m, found.band, found.age, found.stale) == (0.076, Band.WITHIN, dt.timedelta(0), False)
    assert [band(level, (0.068, 0.42)) for level in (0.05, 0.068, 0.42, 0.602)] == [
        Band.BELOW,
        Band.WITHIN,
        Band.WITHIN,
        Band.ABOVE,
    ]


def test_a_river_that_rises_two_centimetres_a_quarter_rises_eight_an_hour():
    found = state(quarters(*(0.5 + 0.02 * n for n in range(9))), now=NOON)
    assert found.rise_m_per_h == pytest.approx(0.08)


def test_a_falling_river_has_a_negative_rate():
    assert state(quarters(0.9, 0.8, 0.7), now=NOON).rise_m_per_h == pytest.approx(-0.4)


@given(st.floats(-0.3, 0.3), st.integers(0, 8), st.floats(-1.9, 1.9))
def test_one_outlier_does_not_move_the_rate(slope, place, wrong):
    levels = [1 + slope * n / 4 for n in range(9)]
    levels[place] += wrong
    # 8 of 36 slopes hold the outlier: the median is one of the other 28, all the same.
    assert theil_sen(quarters(*levels)) == pytest.approx(slope, abs=1e-6)


@given(LEVELS)
def test_the_rate_is_that_of_a_second_library(levels):
    readings = quarters(*levels)
    hours = [(reading.at - NOON) / dt.timedelta(hours=1) for reading in readings]
    assert theil_sen(readings) == pytest.approx(theilslopes(levels, hours).slope, abs=1e-9)


def test_only_the_window_counts():
    steady_then_rising = quarters(*[0.5] * 40, *(0.5 + 0.05 * n for n in range(1, 13)))
    assert rise_m_per_h(steady_then_rising) == pytest.approx(0.2)
    assert rise_m_per_h(steady_then_rising, Habits(window=dt.timedelta(hours=12))) < 0.05


@pytest.mark.parametrize("readings", [quarters(0.5), quarters(0.5, 0.6), []])
def test_too_few_readings_have_no_rate(readings):
    assert rise_m_per_h(readings) is None


def test_readings_over_too_short_a_time_have_no_rate():
    minute = dt.timedelta(minutes=1)
    assert rise_m_per_h([Reading(NOON + n * minute, 0.5 + n / 100) for n in range(29)]) is None
    assert rise_m_per_h([Reading(NOON + n * minute, 0.5 + n / 100) for n in range(31)]) == pytest.approx(0.6)


def test_a_logger_that_reads_every_second_is_thinned_and_still_ends_with_its_newest():
    readings = [Reading(NOON + dt.timedelta(seconds=n), 0.5 + n / 36000) for n in range(10801)]
    assert rise_m_per_h(readings) == pytest.approx(0.1)
    few = _thinned(readings)
    assert (len(few) <= MOST_READINGS, few[-1]) == (True, readings[-1])


@pytest.mark.parametrize(("minutes", "stale"), [(60, False), (61, True), (60 * 24 * 400, True)])
def test_a_gauge_goes_stale_and_then_has_no_rate(minutes, stale):
    found = state(quarters(0.5, 0.6, 0.7), now=NOON + dt.timedelta(minutes=minutes))
    assert (found.age, found.stale) == (dt.timedelta(minutes=minutes), stale)
    assert (found.rise_m_per_h is None) == stale


def test_no_readings_are_no_state():
    assert state([], now=NOON) is None


def test_a_jump_of_ten_metres_is_kept_flagged_and_not_trusted():
    found = state(quarters(0.5, 0.52, 0.54, 10.54), now=NOON, typical_m=(0.1, 0.9))
    assert (found.level_m, found.trusted, found.rise_m_per_h, found.band) == (10.54, False, None, None)


def test_after_a_jump_the_gauge_is_trusted_again_once_it_is_back_in_line():
    series = marked(quarters(0.5, 0.52, 10.5, 10.5, 0.58, 0.6, 0.62))
    assert [reading.trusted for reading in series] == [True, True, False, False, True, True, True]
    assert [reading.level_m for reading in series] == [0.5, 0.52, 10.5, 10.5, 0.58, 0.6, 0.62]
    assert state(series, now=NOON).rise_m_per_h == pytest.approx(0.08)


def test_a_moved_gauge_does_not_become_right_by_repeating_itself():
    assert not any(reading.trusted for reading in marked(quarters(3.0, *[0.4] * 30))[1:])


def test_a_person_may_vouch_for_a_reading():
    flood = [*quarters(0.5, 3.5, last=NOON - QUARTER), Reading(NOON, 3.6, trusted=True)]
    assert [reading.trusted for reading in marked(flood)] == [True, False, True]


def test_a_flag_that_was_kept_stays():
    kept = [Reading(NOON - QUARTER, 10.5, trusted=False), *quarters(0.6, 0.6, 0.6, last=NOON + 2 * QUARTER)]
    assert [reading.trusted for reading in marked(kept)] == [False, True, True, True]


def test_a_river_may_change_much_between_two_readings_far_apart():
    day_before = Reading(NOON - dt.timedelta(days=1), 0.5)
    assert [
        is_jump(day_before, Reading(NOON, 3.0)),
        is_jump(Reading(NOON - QUARTER, 0.5), Reading(NOON, 3.0)),
    ] == [
        False,
        True,
    ]
    at_the_limit = [Reading(NOON - QUARTER, 0.5), Reading(NOON, 2.5)]
    assert not is_jump(*at_the_limit)


def test_readings_may_come_in_any_order_and_twice():
    readings = quarters(0.5, 0.6, 0.7)
    assert state([*readings[::-1], readings[1]], now=NOON) == state(readings, now=NOON)


def test_two_levels_at_one_instant_are_refused():
    with pytest.raises(BadFigure, match=r"At 2026-05-04 12:00 UTC the gauge reads both 0\.5 and 0\.6 m"):
        state([Reading(NOON, 0.6), Reading(NOON, 0.5)], now=NOON)


def test_a_reading_still_to_come_is_refused():
    with pytest.raises(BadFigure, match=r"dated 2026-05-04 12:00 UTC, still to come\. Check the clock"):
        state(quarters(0.5), now=NOON - dt.timedelta(seconds=1))


def test_an_instant_is_the_same_in_every_zone():
    east = dt.timezone(dt.timedelta(hours=13))
    assert Reading(NOON.astimezone(east), 0.5) == Reading(NOON, 0.5)


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf, "0.5", None, 1e9])
def test_what_is_no_level_is_refused(bad):
    with pytest.raises(ValueError, match="The level is a number from -50 to 500 m"):
        Reading(NOON, bad)
    with pytest.raises(BadFigure):
        band(0.5, (0.1, bad))


def test_a_time_without_a_zone_is_refused():
    with pytest.raises(BadFigure, match=r"no time zone\. Write it with one, such as 2026-05-04T12:00:00\+00:00"):
        Reading(NOON.replace(tzinfo=None), 0.5)


def test_habits_and_ranges_that_cannot_be_are_refused():
    for wrong in ({"jump_m": 0}, {"fewest": 1}, {"window": dt.timedelta(0)}, {"stale_after": -QUARTER}):
        with pytest.raises(BadFigure):
            Habits(**wrong)
    with pytest.raises(BadFigure, match="Put the lower level first"):
        band(0.5, (0.9, 0.1))
    with pytest.raises(BadFigure, match="two readings at different times"):
        theil_sen([Reading(NOON, 0.5), Reading(NOON, 0.6)])
