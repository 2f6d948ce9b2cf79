"""Quality control of stage readings, with figures by hand, a synthetic flood and a real record if it is there.

The tests and their names are those of the IOOS manual for water level data (QARTOD, version 2.1, March 2021):
gross range, rate of change, spike, flat line, timing gap. The thresholds are the gauge's settings.
"""

import csv
import datetime as dt
import random
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from beats.water.figures import BadFigure
from beats.water.gauge_history import Flat, FlatRun, Range, outside, probably_meant
from beats.water.quality import QUARTER, Checks, Reading, Track, Unconfirmed, marked, tracked
from beats.water.trend import state
from tests.factories import NOON

ARDECHE = Path("/work/shared/data/stage-ardeche-2001-2012.csv")
DAY = dt.timedelta(days=1)


def quarters(*metres, start=NOON):
    """Readings a quarter of an hour apart, the first at `start`."""
    return [Reading(start + n * QUARTER, level_m) for n, level_m in enumerate(metres)]


def judged(readings):
    return [(one.trusted, one.unconfirmed) for one in marked(readings)]


GOOD = (True, None)
FELL = (False, Unconfirmed.FALL_STEP)
SILENT = (False, Unconfirmed.AFTER_SILENCE)
FAULT = (False, None)


def test_a_fall_of_two_metres_in_a_quarter_of_an_hour_is_assumed_not_to_have_happened():
    readings = quarters(2.5, 2.5, 0.51)
    series, track = tracked(readings)
    assert [(one.trusted, one.unconfirmed) for one in series] == [GOOD, GOOD, FELL]
    assert track.assumed_m == 2.5


def test_a_fall_is_confirmed_by_two_further_readings_and_no_fewer():
    assert judged(quarters(2.5, 0.51, 0.5)) == [GOOD, FELL, FELL]
    assert judged(quarters(2.5, 0.51, 0.5, 0.5)) == [GOOD, GOOD, GOOD, GOOD]
    assert tracked(quarters(2.5, 0.51, 0.5, 0.5))[1].assumed_m == 0.5


def test_readings_that_disagree_confirm_nothing():
    series, track = tracked(quarters(2.5, 0.9, 0.5, 0.9, 0.5))
    assert {one.trusted for one in series[1:]} == {False}
    assert track.assumed_m == 2.5


def test_a_level_after_a_silence_is_confirmed_by_those_that_agree():
    before, after = quarters(10.0), quarters(0.5, 0.5, 0.5, start=NOON + 6 * QUARTER)
    assert judged(before + after[:1]) == [GOOD, SILENT]
    assert tracked(before + after[:1])[1].assumed_m == 10.0
    assert judged(before + after) == [GOOD, GOOD, GOOD, GOOD]


@pytest.mark.parametrize("hours", [1.25, 6, 24, 24 * 30])
def test_no_gap_however_long_makes_a_lower_level_believed_at_once(hours):
    later = Reading(NOON + dt.timedelta(hours=hours), 0.5)
    assert judged([Reading(NOON, 2.5), later]) == [GOOD, SILENT]


def test_after_a_fault_the_old_level_must_be_confirmed():
    series, track = tracked(quarters(0.5, 10.0, 0.5))
    assert [(one.trusted, one.unconfirmed) for one in series] == [GOOD, FAULT, FELL]
    assert track.faulty
    assert judged(quarters(0.5, 10.0, 0.5, 0.5, 0.5)) == [GOOD, FAULT, GOOD, GOOD, GOOD]


def test_a_dip_of_the_gauge_is_over_as_soon_as_it_is_back():
    assert judged(quarters(1.0, 0.2, 1.02)) == [GOOD, FELL, GOOD]


def test_a_person_who_vouches_confirms_at_once():
    vouched = Reading(NOON + QUARTER, 0.5, trusted=True)
    series, track = tracked([Reading(NOON, 2.5), vouched, Reading(NOON + 2 * QUARTER, 0.5)])
    assert [one.trusted for one in series] == [True, True, True]
    assert track.assumed_m == 0.5


def test_a_logger_that_reads_every_second_confirms_nothing_within_a_quarter_of_an_hour():
    dip = [Reading(NOON + dt.timedelta(seconds=n), 0.4) for n in range(1, 601)]
    series, track = tracked([Reading(NOON, 2.0), *dip])
    assert not any(one.trusted for one in series[1:])
    assert track.assumed_m == 2.0
    assert len(track.pending) <= Checks().confirm_readings + 1


@given(st.lists(st.floats(0.0, 1.9).map(lambda rise: round(rise, 2)), min_size=1, max_size=40))
def test_a_rising_river_is_never_unconfirmed_or_distrusted(rises):
    level, metres = 0.5, [0.5]
    for rise in rises:
        level += rise
        metres.append(level)
    assert set(judged(quarters(*metres))) == {GOOD}


@given(
    st.lists(
        st.tuples(st.integers(1, 600), st.floats(0, 8).map(lambda level: round(level, 2))), min_size=1, max_size=30
    )
)
def test_the_level_to_assume_falls_only_to_a_level_that_was_confirmed(steps):
    """A plain model: whatever comes, the assumed level is lowered by a believed reading alone, and then to it."""
    track, at, assumed = Track(), NOON, None
    for minutes, level_m in steps:
        at += dt.timedelta(minutes=minutes)
        track, one = track.after(Reading(at, level_m))
        if assumed is not None and track.assumed_m < assumed:
            assert one.trusted
            assert track.assumed_m == level_m
        if one.unconfirmed:
            assert track.assumed_m >= level_m
        assumed = track.assumed_m


@given(st.lists(st.tuples(st.integers(1, 200), st.floats(0, 12)), min_size=1, max_size=40))
def test_one_step_at_a_time_is_the_same_as_all_at_once(steps):
    at, readings = NOON, []
    for minutes, level_m in steps:
        at += dt.timedelta(minutes=minutes)
        readings.append(Reading(at, level_m))
    track = Track()
    for one in readings:
        track, newest = track.after(one)
    series, whole = tracked(readings)
    assert (track, newest) == (whole, series[-1])


def test_a_flood_with_noise_is_believed_up_and_down():
    """Synthetic: up 2 m in an hour and a half, down over two days, 10 mm of noise."""
    noise = random.Random(7)
    up = [0.6 + 2.0 * n / 6 for n in range(7)]
    down = [0.6 + 2.0 * 0.985**n for n in range(192)]
    series = marked(quarters(*(level + noise.gauss(0, 0.01) for level in [0.6] * 20 + up + down)))
    assert all(one.trusted for one in series)


def test_judging_readings_that_were_judged_changes_nothing():
    for metres in ((2.5, 0.5), (0.5, 10.0, 0.5), (2.5, 0.5, 0.5, 0.5, 0.6)):
        once = marked(quarters(*metres))
        assert marked(once) == once


def test_settings_out_of_range_are_refused():
    for wrong in ({"fall_step_m": 0}, {"confirm_readings": 0}, {"jump_m": 0}, {"fall_step_m": float("nan")}):
        with pytest.raises(BadFigure):
            Checks(**wrong)


@pytest.mark.skipif(not ARDECHE.exists(), reason="the record of the Ardeche is not here")
def test_eleven_years_of_a_flashy_river_are_believed():
    """Stage of the Ardeche at Meyras, 2001-2012 (UHPC Grand Delta), interpolated to a quarter of an hour."""
    with ARDECHE.open() as file:
        rows = [(dt.datetime.fromisoformat(row["time"]), float(row["stage_m"])) for row in csv.DictReader(file)]
    track, doubtful, count, at, place = Track(), 0, 0, rows[0][0], 0
    while at <= rows[-1][0]:
        while place + 2 < len(rows) and rows[place + 1][0] <= at:
            place += 1
        (start, low), (end, high) = rows[place], rows[place + 1]
        level_m = low + (high - low) * ((at - start) / (end - start))
        track, one = track.after(Reading(at, level_m))
        doubtful, count, at = doubtful + (not one.trusted), count + 1, at + QUARTER
    assert count > 350_000
    assert doubtful == 0


class TestRange:
    def test_what_is_far_outside_is_asked_about(self):
        seen = Range(0.41, 1.84)
        found = [outside(level, seen, margin_m=2.0) for level in (62.0, 6.2, 3.9, 3.8, 0.62, -1.5, -1.7)]
        assert found == [True, True, True, False, False, False, True]

    def test_what_was_probably_meant(self):
        seen = Range(0.41, 1.84)
        assert [probably_meant(level, seen) for level in (62, 6.2, 620, 9.0, 48.0)] == [
            0.62,
            0.62,
            0.62,
            0.9,
            0.48,
        ]
        assert probably_meant(62, Range()) is None

    def test_without_a_history_only_what_no_board_shows_is_asked_about(self):
        assert [outside(level, Range(), margin_m=2.0) for level in (0.6, 14.0, 62.0)] == [False, False, True]


def run_of(*parts, every=QUARTER):
    """A run over (readings, level) parts; a level may be a function of the number."""
    run, at = FlatRun(), NOON
    for count, level in parts:
        for n in range(count):
            run = run.after(at, level(n) if callable(level) else level, vouched=False, flat_after=DAY)
            at += every
    return run


def varied(n):
    return 0.6 + 0.01 * (n % 7)


class TestFlat:
    MONTH = 96 * 30

    def test_thirty_hours_where_the_river_always_varied_are_a_stuck_gauge(self):
        assert run_of((self.MONTH, varied), (4 * 23, 0.62)).doubt(DAY) is None
        assert run_of((self.MONTH, varied), (4 * 30, 0.62)).doubt(DAY) is Flat.STUCK

    def test_without_a_history_it_is_a_possibility(self):
        assert run_of((4 * 30, 0.62)).doubt(DAY) is Flat.POSSIBLY_STUCK

    def test_a_drought_that_was_as_flat_before_is_no_stuck_gauge(self):
        parts = (self.MONTH, varied), (96 * 2, 0.30), (96, varied), (96 * 2 - 4, 0.31)
        assert run_of(*parts[:2]).doubt(DAY) is Flat.STUCK
        drought = FlatRun(longest=2 * DAY, seen_since=NOON - 60 * DAY)
        for n in range(96 * 2 - 4):
            drought = drought.after(NOON + n * QUARTER, 0.31, vouched=False, flat_after=DAY)
        assert drought.doubt(DAY) is None

    def test_a_stuck_run_is_not_learned_as_usual_unless_a_person_vouches(self):
        stuck = run_of((self.MONTH, varied), (4 * 30, 0.62))
        after = stuck.last + QUARTER
        assert stuck.after(after, 0.9, vouched=False, flat_after=DAY).longest < DAY
        vouched = stuck.after(after, 0.62, vouched=True, flat_after=DAY)
        assert vouched.longest > DAY
        assert vouched.doubt(DAY) is None

    def test_the_last_digit_of_a_logger_is_no_movement(self):
        assert run_of((self.MONTH, varied), (4 * 30, lambda n: 0.62 + 0.001 * (n % 2))).doubt(DAY) is Flat.STUCK

    def test_a_gauge_read_by_hand_now_and_then_is_not_stuck(self):
        twice_a_day = run_of((60, varied), (8, 0.62), every=dt.timedelta(hours=12))
        assert twice_a_day.doubt(DAY) is None

    def test_a_stuck_gauge_is_not_trusted_and_says_so(self):
        readings = quarters(*[0.62] * 120)
        before = FlatRun(0.6, NOON - 2 * QUARTER, NOON - QUARTER, 2, dt.timedelta(hours=3), NOON - 60 * DAY)
        found = state(readings, now=readings[-1].at, flat_run=before)
        assert (found.trusted, found.unconfirmed, found.flat) == (False, Unconfirmed.STUCK, Flat.STUCK)
        assert found.rise_m_per_h is None
