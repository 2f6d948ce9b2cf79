"""Sink rate x seconds = depth, against sums by hand and the published rule for a tight line."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from beats.water.advice import NotAMeasure
from beats.water.sinking import LABEL_SHARE, Sinking, Swing, hanging_m, label_needed_in_s, sunk_m, timing

FOOT, MPH = 0.3048, 0.44704
WIDTHS, SPEEDS = st.floats(1, 500), st.floats(0, 8)


# flyfishingresearch.net, "Fly Depth Formula" (pages 47 and 41): 12 ft, rule 6, 2 mph gives 3 ft;
# 15 ft, rule 9, 2 mph gives 2.5 ft. Rows below the line: worked from the same formula, not published.
@pytest.mark.parametrize(
    ("tip_ft", "rule", "mph", "depth_ft"),
    [(12, 6, 2, 3), (15, 9, 2, 2.5), (10, 6, 3, 10 / 6), (15, 10, 2, 2.25), (15, 16, 2, 45 / 32)],
)
def test_a_tight_line_hangs_as_deep_as_the_published_rule_says(tip_ft, rule, mph, depth_ft):
    assert hanging_m(tip_ft * FOOT, mph * MPH, rule) == pytest.approx(depth_ft * FOOT)


def test_below_one_mile_an_hour_the_rule_is_not_stretched():
    assert hanging_m(3, 0, 6) == hanging_m(3, MPH, 6)


def test_a_metre_at_three_inches_a_second_takes_as_long_as_long_tips_were_found_to_take():
    """13.1 s by the label; tips of ten feet sank 8 to 17 % slower (flyfishingresearch.net, page 57): 15.8 s."""
    assert label_needed_in_s(1, 100 / (3 * 2.54) / LABEL_SHARE) == pytest.approx(3)
    assert pytest.approx(13.1, abs=0.03) == 100 / (3 * 2.54)
    assert pytest.approx(15.8, abs=0.03) == 100 / (3 * 2.54) / LABEL_SHARE


def test_a_swing_by_hand():
    # 45 degrees below square: 25 m of line on an eighth of a circle, 19.63 m of arc, at 0.5 m/s 39.27 s.
    # Half of it slack is 19.63 s, one mend 2 s. 5 in/s x 0.83 x 0.0254 m x 21.63 s = 2.281 m.
    found = timing(width_m=40, velocity_mps=0.5)
    assert (found.cast_m, found.swing_s, found.sinking_s) == pytest.approx((25, 39.27, 21.635), abs=0.01)
    sinking = Sinking(5, found)
    assert sinking.depth_m == pytest.approx(2.281, abs=0.001)
    assert sinking.working == (
        "25 m of line swings for 39 s in water of 0.5 m/s and sinks for 19.6 s of that and 2.0 s bought by mends "
        "and steps: 5 in/s on the label x 0.83 x 21.6 s = 2.28 m"
    )


def test_a_narrow_river_takes_a_shorter_line_and_a_shorter_swing():
    assert timing(width_m=10, velocity_mps=1).cast_m == pytest.approx(10 * math.sqrt(2))


def test_each_mend_buys_its_seconds_and_each_step_the_time_the_water_takes_for_it():
    # Two mends of 2 s; three steps of 0.75 m in water of 0.5 m/s, 1.5 s each.
    assert timing(width_m=30, velocity_mps=0.5, swing=Swing(mends=2, steps=3)).bought_s == pytest.approx(8.5)


def test_still_water_is_not_waited_for_for_ever():
    swing = Swing(mends=0, steps=2)
    found = timing(width_m=30, velocity_mps=0, swing=swing)
    assert (found.swing_s, found.bought_s) == (swing.longest_s, 2 * swing.longest_step_s)


def test_the_line_comes_round_from_where_it_was_cast_to_the_angler_s_own_bank():
    found = timing(width_m=40, velocity_mps=1)
    assert found.out_m(0) == found.out_m(found.bought_s) == pytest.approx(25 / math.sqrt(2))
    assert found.out_m(found.whole_s) == pytest.approx(0, abs=1e-9)


@given(WIDTHS, SPEEDS, st.floats(0, 1), st.floats(0, 1))
def test_the_line_only_ever_comes_nearer_and_sinks(width, speed, one, other):
    sinking = Sinking(4, timing(width_m=width, velocity_mps=speed))
    early, late = (share * sinking.timing.whole_s for share in sorted((one, other)))
    assert sinking.timing.out_m(early) >= sinking.timing.out_m(late) - 1e-9
    assert sinking.depth_after_m(early) <= sinking.depth_after_m(late) <= sinking.depth_m


@given(st.floats(0, 50), st.floats(0.1, 3600))
def test_the_rate_needed_reaches_just_that_depth(depth, seconds):
    rate = label_needed_in_s(depth, seconds)
    if rate <= 20:
        assert sunk_m(rate, seconds) == pytest.approx(depth, abs=1e-9)


@given(WIDTHS, SPEEDS, SPEEDS)
def test_faster_water_never_gives_more_time(width, one, other):
    slow, fast = (timing(width_m=width, velocity_mps=speed).sinking_s for speed in sorted((one, other)))
    assert fast <= slow


def test_no_time_needs_an_endless_rate_and_no_depth_needs_none():
    assert (label_needed_in_s(1, 0), label_needed_in_s(0, 0)) == (math.inf, 0)


NONSENSE = [float("nan"), float("inf"), float("-inf"), -1]


@pytest.mark.parametrize("value", NONSENSE)
def test_nonsense_is_refused_by_name(value):
    for name, ask in (
        ("width_m", lambda: timing(width_m=value, velocity_mps=1)),
        ("velocity_mps", lambda: timing(width_m=30, velocity_mps=value)),
        ("label_in_s", lambda: sunk_m(value, 10)),
        ("seconds", lambda: sunk_m(3, value)),
        ("depth_m", lambda: label_needed_in_s(value, 10)),
        ("tip_m", lambda: hanging_m(value, 1, 6)),
        ("rule", lambda: hanging_m(3, 1, value)),
    ):
        with pytest.raises(NotAMeasure, match=f"{name} is a number from"):
            ask()


@pytest.mark.parametrize("value", NONSENSE)
@pytest.mark.parametrize("name", list(Swing.__dataclass_fields__))
def test_a_swing_out_of_bounds_is_refused(name, value):
    with pytest.raises(NotAMeasure, match=f"{name} is a number from"):
        Swing(**{name: value})
