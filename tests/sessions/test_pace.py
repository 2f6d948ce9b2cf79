"""Fishing a pool down, against casts counted by hand and against what must hold for every pool."""

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from pydantic import BaseModel

from beats.fishery_file import PoolTable
from sessions.rotation.pace import (
    COMMON,
    LIMITS,
    Pace,
    casts_down,
    down_in_time,
    holds,
    minutes_down,
    minutes_until_next,
    starts,
)

FOUR_HOURS = 240
LENGTHS = st.floats(0.01, 5000)
PARTS = st.floats(0.5, 1440)
PACES = st.builds(
    Pace, st.floats(0.1, 20), st.floats(5, 600), st.integers(0, 100), st.floats(1, 1000)
)  # fmt: skip


def test_a_hundred_metres_as_commonly_fished():
    # 6 short casts, 1 at full length from the neck, 50 steps of 2 m with a cast each: 57 casts of 75 s.
    assert (casts_down(100), minutes_down(100)) == (57, 71.25)


def test_the_next_rod_starts_when_the_first_is_forty_metres_down():
    # 6 short casts, then 20 casts each followed by a step of 2 m: 26 casts of 75 s.
    assert minutes_until_next(100) == 32.5


def test_a_hundred_metres_hold_three_rods_in_a_morning():
    # Room: at 0, 40 and 80 m. Time: 192 casts in 4 h, 57 to get down, 135 left, 26 apart: 6 could.
    assert holds(100, FOUR_HOURS) == 3
    assert starts(3, 100) == [0, 32.5, 65]


def test_time_binds_where_room_does_not():
    # 300 m: 157 casts of the 192; 35 left, 26 apart: one more rod, though 8 have room.
    assert holds(300, FOUR_HOURS) == 2


def test_the_last_rod_may_use_the_last_cast():
    # 278 m: 146 casts to get down. 26 more for the second are 172 casts of 75 s: 215 minutes exactly.
    assert [holds(278, minutes) for minutes in (214.9, 215)] == [1, 2]


def test_a_pool_too_long_for_the_part_is_one_rod_s_water():
    # 400 m: 207 casts are 258.75 minutes, and the part has 240.
    assert (down_in_time(400, FOUR_HOURS), holds(400, FOUR_HOURS)) == (False, 1)


def test_in_a_pool_shorter_than_the_distance_behind_the_next_waits_until_it_is_empty():
    # 30 m: 6 + 1 + 15 casts. Forty metres behind would be 26.
    assert (casts_down(30), minutes_until_next(30), holds(30, FOUR_HOURS)) == (22, 27.5, 1)


def test_a_pool_s_own_pace_counts_and_the_rest_is_common():
    pace = Pace.of(step_m=1.8, cycle_s=80)
    assert pace == Pace(1.8, 80, COMMON.short_casts, COMMON.behind_m)
    # 260 m in steps of 1.8 m: 144.4, so 145 steps; with 6 + 1 casts 152, of 80 s.
    assert minutes_down(260, pace) == pytest.approx(152 * 80 / 60)


def test_nought_is_a_number_of_short_casts_and_not_an_unknown():
    assert casts_down(10, Pace.of(short_casts=0)) == 6


@pytest.mark.parametrize(("length", "step", "steps"), [(2.1, 0.7, 3), (0.3, 0.1, 3), (100, 0.1, 1000)])
def test_whole_steps_are_whole_whatever_binary_fractions_say(length, step, steps):
    assert casts_down(length, Pace(step_m=step, short_casts=0)) == steps + 1


@given(LENGTHS, LENGTHS, PACES)
def test_a_longer_pool_never_takes_less_time(one, other, pace):
    shorter, longer = sorted((one, other))
    assert minutes_down(shorter, pace) <= minutes_down(longer, pace)


@given(LENGTHS, PARTS, PACES, st.floats(1, 1000))
def test_more_water_between_rods_never_holds_more_of_them(length, part, pace, other):
    near, far = sorted((pace.behind_m, other))
    tight, wide = (Pace(pace.step_m, pace.cycle_s, pace.short_casts, behind) for behind in (near, far))
    assert holds(length, part, wide) <= holds(length, part, tight)
    assert minutes_until_next(length, tight) <= minutes_until_next(length, wide)


@given(LENGTHS, PARTS, PARTS, PACES)
def test_a_longer_part_never_holds_fewer(length, one, other, pace):
    shorter, longer = sorted((one, other))
    assert 1 <= holds(length, shorter, pace) <= holds(length, longer, pace)


@given(LENGTHS, PARTS, PACES)
def test_the_last_rod_gets_down_in_time_whenever_the_first_does(length, part, pace):
    assume(down_in_time(length, part, pace))
    last = starts(holds(length, part, pace), length, pace)[-1]
    assert last + minutes_down(length, pace) <= part + 1e-6


@given(LENGTHS, PARTS, PACES)
def test_one_rod_more_would_lack_room_or_time(length, part, pace):
    more = holds(length, part, pace) + 1
    room = (more - 1) * pace.behind_m <= length
    in_time = starts(more, length, pace)[-1] + minutes_down(length, pace) <= part
    assert not (room and in_time)


@given(LENGTHS, PACES)
def test_rods_start_apart_and_never_before_the_first_has_gone_down(length, pace):
    first, second, third = starts(3, length, pace)
    assert first == 0
    assert second > 0
    assert third == pytest.approx(2 * second)
    steps = round(second * 60 / pace.cycle_s) - pace.short_casts
    assert steps * pace.step_m >= min(pace.behind_m, length) - 1e-6


@pytest.mark.parametrize("name", LIMITS)
@pytest.mark.parametrize("side", ["below", "above", "not a number"])
def test_a_pace_out_of_bounds_is_refused(name, side):
    low, high = LIMITS[name]
    value = {"below": low - 0.01, "above": high + 0.01, "not a number": float("nan")}[side]
    with pytest.raises(ValueError, match=f"{name} is from"):
        Pace.of(**{name: value})


@pytest.mark.parametrize("length", [0, -1, 5000.1, float("nan"), float("inf")])
def test_a_pool_of_no_such_length_is_refused(length):
    for ask in (casts_down, minutes_down, minutes_until_next, lambda metres: holds(metres, FOUR_HOURS)):
        with pytest.raises(ValueError, match="metres long"):
            ask(length)


@pytest.mark.parametrize("minutes", [0, -5, 1440.5, float("nan")])
def test_a_part_of_no_such_length_is_refused(minutes):
    with pytest.raises(ValueError, match="part of the day"):
        holds(100, minutes)


def test_the_fishery_file_allows_exactly_what_the_pace_does():
    assert {name: bounds(PoolTable, name) for name in LIMITS} == LIMITS


def bounds(table: type[BaseModel], name: str) -> tuple[float, float]:
    limits = table.model_json_schema()["properties"][name]["anyOf"][0]
    return limits["minimum"], limits["maximum"]
