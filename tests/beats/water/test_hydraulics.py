"""Depth and speed at another level, against a handbook's two channels and what must hold for every pool."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from beats.water.figures import BadFigure
from beats.water.hydraulics import Factors, Flow, Measured, NotKnown, by_rule, by_table

POOL = Measured(level_m=0.5, depth_m=0.9, velocity_mps=0.7)
TABLE = [Measured(0.4, 0.6, 0.5), Measured(0.8, 1.0, 0.9), Measured(1.4, 1.6, 0.8)]
NO_FIGURES = [math.nan, math.inf, -math.inf, "0.5", None, True]


def test_a_handbooks_two_channels_follow_from_one_another():
    # V. M. Ponce, San Diego State University, CIVE 530 (midterm 1 problem 4 of fall 2008, midterm 2 problem 1
    # of spring 2007): slope 0.0025 and n 0.015 in both; R 1.043 m gives 3.428 m/s, R 0.606 m gives 2.387.
    # In the rule the depth stands for the hydraulic radius; the level falls by the difference.
    deep = Measured(level_m=1.043, depth_m=1.043, velocity_mps=3.428)
    shallow = by_rule(0.606, deep)
    assert shallow.depth_m == pytest.approx(0.606)
    assert shallow.velocity_mps == pytest.approx(2.387, rel=1e-3)  # the handbook rounds R


def test_at_its_own_level_a_pool_is_as_it_was_measured():
    assert by_rule(0.5, POOL) == Flow(0.9, 0.7, "by rule from 0.50 m on the gauge")


def test_a_wide_pool_gains_less_than_the_gauge_and_the_owner_may_scale_the_speed():
    found = by_rule(1.5, POOL, Factors(depth_per_level=0.6, velocity_exponent=1.0, velocity_factor=1.2))
    assert (found.depth_m, found.velocity_mps) == (pytest.approx(1.5), pytest.approx(0.7 * 1.2 * 1.5 / 0.9))


def test_where_the_rule_leaves_no_water_nothing_is_known():
    assert by_rule(-0.4, POOL) == NotKnown(
        "At -0.40 m the rule leaves no water in this pool: look at the pool itself."
    )
    assert isinstance(by_rule(-0.39, POOL), Flow)


@pytest.mark.parametrize("pool", [POOL, Measured(0.5, 0.001, 0.7)])
def test_a_level_far_beyond_what_was_measured_gives_no_figure(pool):
    assert by_rule(40.0, pool).why.startswith("40.00 m is too far")


@given(st.floats(-0.39, 3), st.floats(-0.39, 3))
def test_a_higher_river_is_nowhere_shallower_or_slower(one, other):
    low, high = (by_rule(level, POOL) for level in sorted((one, other)))
    assert low.depth_m <= high.depth_m
    assert low.velocity_mps <= high.velocity_mps


@pytest.mark.parametrize(
    ("level", "depth", "velocity"),
    [(0.4, 0.6, 0.5), (0.6, 0.8, 0.7), (0.8, 1.0, 0.9), (1.1, 1.3, 0.85), (1.4, 1.6, 0.8)],
)
def test_the_owners_table_is_read_at_its_rows_and_between_them(level, depth, velocity):
    found = by_table(level, TABLE[::-1])  # in any order
    assert (found.depth_m, found.velocity_mps) == (pytest.approx(depth), pytest.approx(velocity))


@pytest.mark.parametrize("level", [0.399, 1.401, -5, 90])
def test_outside_the_table_nothing_is_known(level):
    assert by_table(level, TABLE).why == (
        f"{level:.2f} m is outside the pool's own table (0.40 to 1.40 m): look at the pool."
    )


@pytest.mark.parametrize(
    ("rows", "word"),
    [
        ([], "at least two levels"),
        (TABLE[:1], "at least two levels"),
        ([*TABLE, Measured(0.8, 1.1, 0.9)], r"level 0\.8 m twice"),
        ([*TABLE, Measured(2.0, 1.5, 0.9)], r"depth falls from 1\.6 to 1\.5 m"),
    ],
)
def test_a_table_that_cannot_be_is_refused(rows, word):
    with pytest.raises(BadFigure, match=word):
        by_table(0.5, rows)


@pytest.mark.parametrize("bad", NO_FIGURES)
def test_what_is_no_figure_is_refused(bad):
    calls = [lambda: by_rule(bad, POOL), lambda: by_table(bad, TABLE), lambda: Measured(bad, 1, 1)]
    calls += [
        lambda: Measured(0.5, bad, 1),
        lambda: Measured(0.5, 1, bad),
        lambda: Flow(bad, 1, ""),
        lambda: Factors(bad),
    ]
    for call in calls:
        with pytest.raises(ValueError, match="is a number from"):
            call()


def test_a_negative_depth_or_speed_is_refused_and_a_negative_level_is_not():
    for depth, velocity in ((-0.1, 1), (1, -0.1)):
        with pytest.raises(BadFigure, match=r"-0\.1 is not. Correct it and send it again"):
            Measured(0.5, depth, velocity)
    assert by_rule(-0.2, Measured(-0.2, 1, 1)).depth_m == 1
