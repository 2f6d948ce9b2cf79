"""The Beaufort scale against published tables, and what its steps mean for a caster."""

import pytest

from beats.water.advice import NotAMeasure
from beats.water.wind import FASTEST_MPS, LOWER_BOUNDS_MPS, NAMES, Steps, Strength, beaufort, strength_of


def test_the_mean_speed_of_each_force_falls_into_that_force():
    """Means in m/s as the Met Office prints them (table at infotextmanuscripts.org, "Beaufort"); 12 has none."""
    means = (0, 1, 3, 5, 7, 10, 12, 15, 19, 23, 27, 31)
    assert [beaufort(mean).number for mean in means] == list(range(12))


def test_the_last_tenth_below_each_bound_is_still_the_force_below():
    """Upper ends in m/s from the table at delta-s.org/weer/beaufort.html."""
    tops = (0.2, 1.5, 3.3, 5.4, 7.9, 10.7, 13.8, 17.1, 20.7, 24.4, 28.4, 32.6)
    assert [beaufort(top).number for top in tops] == list(range(12))
    assert [beaufort(bound).number for bound in LOWER_BOUNDS_MPS] == list(range(1, 13))


def test_bounds_follow_the_scale_s_own_law():
    """v = 0.836 B^1.5 at half a step (World Meteorological Organization; from memory)."""
    law = [0.836 * (number - 0.5) ** 1.5 for number in range(1, 13)]
    assert pytest.approx(law, abs=0.15) == LOWER_BOUNDS_MPS


def test_forces_have_their_names():
    assert [beaufort(speed).name for speed in (0, 9, 15, 120)] == [
        "calm",
        "fresh breeze",
        "near gale",
        "hurricane",
    ]
    assert len(NAMES) == 13


@pytest.mark.parametrize("speed", [-0.1, float("nan"), float("inf"), float("-inf"), FASTEST_MPS + 0.1])
def test_a_wind_of_no_such_speed_is_refused(speed):
    with pytest.raises(NotAMeasure, match="speed_mps is a number from 0 to 120"):
        beaufort(speed)


def test_casting_gets_harder_with_the_wind_and_ends_at_force_seven():
    found = [strength_of(beaufort(bound)) for bound in (0, *LOWER_BOUNDS_MPS)]
    light, fresh, strong, stop = Strength
    assert found == [light] * 4 + [fresh] * 2 + [strong] + [stop] * 6


def test_a_beat_may_stop_sooner():
    assert strength_of(beaufort(9), Steps(fresh_from=2, strong_from=4, stop_from=5)) is Strength.STOP


@pytest.mark.parametrize("steps", [(5, 4, 7), (4, 8, 7), (0, 6, 7), (4, 6, 13)])
def test_steps_out_of_order_are_refused(steps):
    with pytest.raises(NotAMeasure, match="fresh comes before strong"):
        Steps(*steps)
