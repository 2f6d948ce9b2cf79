"""Height of the tide against worked examples, two of which were published wrong, and the cutting off of pools."""

import datetime as dt
import itertools
import math
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from beats.water.figures import BadFigure
from beats.water.tide import CANNOT_SEE, LONGEST, By, CutOff, Window, cut_off, height
from beats.water.tide_table import Kind, Water, table

LONDON = ZoneInfo("Europe/London")
MINUTE, HOUR = dt.timedelta(minutes=1), dt.timedelta(hours=1)
HIGH, LOW = Kind.HIGH, Kind.LOW


def at(clock, day=4):
    return dt.datetime.fromisoformat(f"2026-05-{day:02}T{clock}:00+00:00")


def tide(*said):
    return table([Water(when, metres, kind) for when, metres, kind in said])


DAY = tide(  # a made-up day of regular tides, six hours apart
    (at("00:00"), 4.0, HIGH),
    (at("06:00"), 1.0, LOW),
    (at("12:00"), 4.4, HIGH),
    (at("18:00"), 0.8, LOW),
    (at("00:00", 5), 4.0, HIGH),
)
WHOLE_DAY = Window(at("00:00"), at("00:00", 5))
RISE = tide((at("12:00"), 2.0, LOW), (at("18:00"), 14.0, HIGH))
PORTSMOUTH = tide((at("00:45"), 4.0, HIGH), (at("05:52"), 0.5, LOW))
FISH_ON_FLY = tide((at("09:24"), 3.73, HIGH), (at("15:26"), 0.69, LOW))


def sixths(told, by):
    first, second = told.waters
    return [height(told, first.at + (second.at - first.at) * n / 6, by=by).height_m for n in range(7)]


@pytest.mark.parametrize(
    ("told", "expected"),
    [
        # liquisearch.com, "Rule of twelfths, example calculation": 8 m after three hours.
        (RISE, [2, 3, 5, 8, 11, 13, 14]),
        # nauticalive.com, "Rule of twelfths": it prints a twelfth of 3.5 m as 0.33 m. That is wrong: 3.5 / 12
        # is 0.2917. With 0.33 the ebb would end at 0.04 m, and not at the 0.5 m it was told.
        (PORTSMOUTH, [4.0, 3.708, 3.125, 2.25, 1.375, 0.792, 0.5]),
        # fishonfly.com.au, "Calculating water depth mid tidal run": it ends with 1.54 m "over 4 hours". That is
        # wrong too: nine twelfths of 3.04 m are a fall of 2.28 m, to 1.45 m.
        (FISH_ON_FLY, [3.73, 3.477, 2.97, 2.21, 1.45, 0.943, 0.69]),
    ],
)
def test_worked_examples_of_the_twelfths(told, expected):
    assert sixths(told, By.TWELFTHS) == pytest.approx(expected, abs=0.0005)


def test_what_the_wrong_examples_would_have_said_is_not_said():
    first_sixth, *_, low_water = sixths(PORTSMOUTH, By.TWELFTHS)[1:]
    assert (round(4.0 - first_sixth, 4), low_water) == (0.2917, 0.5)  # and not 0.33 and 0.04
    after_four = sixths(FISH_ON_FLY, By.TWELFTHS)[4]
    assert (round(after_four, 2), round(3.73 - after_four, 2)) == (1.45, 2.28)  # neither is 1.54


def test_the_cosine_of_the_hydrographic_service():
    # The formula is published (Australian Hydrographic Service); the heights were worked out from it apart.
    assert sixths(RISE, By.COSINE) == pytest.approx([2, 2.804, 5, 8, 11, 13.196, 14], abs=0.0005)
    clocks = ["01:45", "02:45", "03:45", "04:45"]
    found = [height(PORTSMOUTH, at(clock)).height_m for clock in clocks]
    assert found == pytest.approx([3.680, 2.838, 1.781, 0.895], abs=0.0005)


def test_the_actual_time_between_waters_is_used_and_no_fixed_half_day():
    # calcpeak.com gives 2.09 m here, from a fixed 12.42 hours that ignores the low water it was told.
    told = tide((at("06:00"), 3.5, HIGH), (at("12:30"), 0.5, LOW))
    assert height(told, at("09:00")).height_m == pytest.approx(2.181, abs=0.0005)


@given(st.floats(-1, 3), st.floats(0.1, 9), st.booleans(), st.integers(60, 600))
def test_both_rules_agree_at_hours_nought_three_and_six_and_nearly_between(low, more, rising, minutes):
    ends = (low, low + more) if rising else (low + more, low)
    kinds = (LOW, HIGH) if rising else (HIGH, LOW)
    told = tide((at("06:00"), ends[0], kinds[0]), (at("06:00") + minutes * MINUTE, ends[1], kinds[1]))
    twelfths, cosine = sixths(told, By.TWELFTHS), sixths(told, By.COSINE)
    assert [twelfths[n] for n in (0, 3, 6)] == pytest.approx([cosine[n] for n in (0, 3, 6)])
    assert max(abs(a - b) for a, b in zip(twelfths, cosine, strict=True)) < 0.0168 * more


@given(st.sampled_from(By), st.floats(0, 1), st.floats(0, 1))
def test_between_two_waters_the_tide_goes_one_way_only(by, one, other):
    early, late = (height(RISE, at("12:00") + 6 * HOUR * part, by=by) for part in sorted((one, other)))
    assert 2 <= early.height_m <= late.height_m + 1e-9
    assert late.height_m <= 14


def test_a_tide_rises_to_its_high_water_and_falls_from_it():
    assert [height(DAY, at(clock)).rising for clock in ("05:59", "06:01", "12:00", "12:01")] == [
        False,
        True,
        True,
        False,
    ]
    assert [height(DAY, water.at).height_m for water in DAY.waters] == [4.0, 1.0, 4.4, 0.8, 4.0]


@pytest.mark.parametrize(("hours", "rough"), [(4.9, True), (5, False), (7, False), (7.1, True), (10, True)])
def test_an_uncommonly_short_or_long_tide_is_told_as_rough(hours, rough):
    told = tide((at("00:00"), 4.0, HIGH), (at("00:00") + hours * HOUR, 1.0, LOW))
    assert height(told, at("02:00")).rough is rough


def test_outside_the_table_and_in_a_hole_of_it_nothing_is_known():
    assert [height(DAY, when) for when in (at("23:59", 3), at("00:01", 5))] == [None, None]
    hole = tide((at("00:00"), 4.0, HIGH), (at("00:00") + LONGEST + MINUTE, 1.0, LOW), (at("16:00"), 4.0, HIGH))
    assert height(hole, at("05:00")) is None
    assert height(hole, at("12:00")).rising


def test_a_pool_is_cut_off_about_high_water_from_the_earlier_rule_to_the_later():
    found = cut_off(DAY, 3.55, start=at("06:00"), end=at("18:00"))
    # Rising 1.0 to 4.4 m: 3.55 is three quarters, after 4 of 6 hours by either rule. Falling 4.4 to 0.8 m:
    # 3.55 is 0.2361 of the fall, by twelfths 1 h 55 min, by cosine 1 h 56.1 min: the later counts.
    (window,) = found.windows
    assert found.unknown == ()
    assert abs(window.start - at("10:00")) < MINUTE / 60
    assert abs(window.end - (at("12:00") + 6 * HOUR * math.acos(1 - 2 * 0.85 / 3.6) / math.pi)) < MINUTE / 60


@given(st.floats(0.8, 4.4), st.sampled_from(By))
def test_by_neither_rule_is_a_pool_under_outside_its_windows(threshold, by):
    windows = cut_off(DAY, threshold, start=at("00:00"), end=at("00:00", 5)).windows
    for minute in range(0, 1440, 7):
        when = at("00:00") + minute * MINUTE
        if not any(window.start <= when <= window.end for window in windows):
            assert height(DAY, when, by=by).height_m <= threshold  # a tide may touch it for an instant


def test_windows_come_in_order_apart_and_inside_the_span():
    found = cut_off(DAY, 3.0, start=at("01:00"), end=at("23:30")).windows
    assert [window.start < window.end for window in found] == [True] * 3
    assert all(a.end < b.start for a, b in itertools.pairwise(found))
    assert (found[0].start, found[-1].end) == (at("01:00"), at("23:30"))


@pytest.mark.parametrize(
    ("threshold", "windows"),
    [
        (4.5, ()),
        (4.4, ()),
        (0.8, (Window(at("00:00"), at("00:00", 5)),)),
        (-1, (Window(at("00:00"), at("00:00", 5)),)),
    ],
)
def test_a_pool_above_every_tide_or_below_every_tide(threshold, windows):
    assert cut_off(DAY, threshold, start=at("00:00"), end=at("00:00", 5)) == CutOff(windows, ())


def test_what_the_table_does_not_tell_is_unknown_and_not_dry():
    found = cut_off(DAY, 4.5, start=at("20:00", 3), end=at("03:00", 5))
    assert found.unknown == (Window(at("20:00", 3), at("00:00")), Window(at("00:00", 5), at("03:00", 5)))
    gone = cut_off(DAY, 1.0, start=at("00:00", 9), end=at("06:00", 9))
    assert gone == CutOff((), (Window(at("00:00", 9), at("06:00", 9)),))
    before = cut_off(DAY, 1.0, start=at("00:00", 1), end=at("06:00", 1))
    assert before == CutOff((), (Window(at("00:00", 1), at("06:00", 1)),))


def test_a_year_of_tides_is_answered_from_the_few_that_matter():
    kinds = ((4.0, HIGH), (1.0, LOW))
    year = tide(*((at("00:00", 1) + 6 * n * HOUR, *kinds[n % 2]) for n in range(1460)))
    for day in (1, 2, 15):
        found = cut_off(year, 2.5, start=at("00:00", day), end=at("13:00", day))
        expected = (Window(at("00:00", day), at("03:00", day)), Window(at("09:00", day), at("13:00", day)))
        assert found == CutOff(expected, ())


def test_a_hole_in_the_table_is_unknown():
    hole = tide((at("00:00"), 4.0, HIGH), (at("12:00"), 1.0, LOW), (at("18:00"), 4.0, HIGH))
    assert cut_off(hole, 4.5, start=at("01:00"), end=at("17:00")).unknown == (Window(at("01:00"), at("12:00")),)


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf, "3.0", None, 25])
def test_a_threshold_that_cannot_be_is_refused(bad):
    with pytest.raises(ValueError, match="height that cuts the pool off is a number from -5 to 20 m"):
        cut_off(DAY, bad, start=at("00:00"), end=at("06:00"))


def test_a_time_without_a_zone_is_refused():
    with pytest.raises(BadFigure, match="says no time zone"):
        height(DAY, dt.datetime(2026, 5, 4, 12))  # noqa: DTZ001


def test_the_caution_names_what_the_table_cannot_see_and_whom_to_ring():
    assert CANNOT_SEE.endswith("In danger ring 999 or 112 and ask for the Coastguard.")
