"""Wind and casting as geometry: every bearing, both banks, both hands.

Bearings are whole or dyadic degrees, so that sums of them are exact and no edge moves by rounding.
"""

import itertools
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from beats.models import Pool
from beats.water.advice import NotAMeasure
from beats.water.casting import BY_STRENGTH, CASTS, THUNDER, Blows, Family, Side, casting
from beats.water.wind import FELT_MPS, Strength

LEFT, RIGHT = Side
EVERY = list(itertools.product(range(360), range(0, 360, 30)))
BOTH_BANKS_AND_HANDS = pytest.mark.parametrize(("bank", "hand"), list(itertools.product(Side, Side)))
EIGHTHS = st.integers(0, 359 * 8).map(lambda eighths: eighths / 8)
SPEEDS = st.floats(0, 60)


def cast(wind, flow, bank, hand=RIGHT, speed=5.0, **more):
    return casting(
        wind_from_deg=wind, wind_mps=speed, flow_bearing_deg=flow, bank=bank, hand=hand, **more
    )  # fmt: skip


# Published: left bank, upstream wind, right shoulder, single Spey; left bank, downstream wind, left shoulder,
# double Spey (sexyloops.com, tsinglespeyright and tdoublespeyleft). Snake roll: right hand up on the right
# bank, left on the left, downstream wind (sexyloops.com, "The Snake Roll", by the cast's inventor).
@pytest.mark.parametrize(
    ("bank", "wind_from", "blows", "shoulder", "named"),
    [
        (LEFT, 90, Blows.UPSTREAM, RIGHT, "single Spey"),
        (LEFT, 270, Blows.DOWNSTREAM, LEFT, "double Spey"),
        (LEFT, 270, Blows.DOWNSTREAM, LEFT, "snake roll"),
        (RIGHT, 270, Blows.DOWNSTREAM, RIGHT, "snake roll"),
        (RIGHT, 90, Blows.UPSTREAM, LEFT, "snap T"),
    ],
)
def test_published_cases_on_a_river_that_flows_east(bank, wind_from, blows, shoulder, named):
    found = cast(wind_from, 90, bank)
    assert (found.blows, found.shoulder, found.onto) == (blows, shoulder, shoulder.other)
    assert [family for family, casts in CASTS.items() if named in casts and family is not Family.EITHER] == [
        found.family
    ]


def test_a_north_wind_blows_south():
    """Reports give where wind comes from: a north wind on a river that runs south blows downstream."""
    assert cast(0, 180, LEFT).downstream_mps == pytest.approx(5)
    assert cast(0, 0, LEFT).downstream_mps == pytest.approx(-5)


def test_a_west_wind_on_a_river_that_runs_north():
    """From the left (west) bank it blows from behind, from the right in the face."""
    behind, face = cast(270, 0, LEFT), cast(270, 0, RIGHT)
    assert (behind.blows, face.blows) == (Blows.FROM_BEHIND, Blows.IN_THE_FACE)
    assert (behind.outward_mps, face.outward_mps) == pytest.approx((5, -5))
    assert "at your back" in behind.cautions[-1]
    assert "in your face" in face.cautions[-1]


def on_the_map(bearing):
    """A unit vector (east, north)."""
    return math.sin(math.radians(bearing)), math.cos(math.radians(bearing))


def rightward(wind, flow, bank):
    """How fast the wind blows towards the right hand of an angler who faces the river, by vectors on the map."""
    facing = flow + (90 if bank is LEFT else -90)
    blowing, right_hand = on_the_map(wind + 180), on_the_map(facing + 90)
    return 5 * (blowing[0] * right_hand[0] + blowing[1] * right_hand[1])


@BOTH_BANKS_AND_HANDS
def test_on_the_map_the_wind_blows_towards_the_shoulder_of_the_cast(bank, hand):
    """Worked without a word of up- or downstream; every whole degree of wind, twelve rivers."""
    for wind, flow in EVERY:
        found, right = cast(wind, flow, bank, hand), rightward(wind, flow, bank)
        expected = None if abs(right) < FELT_MPS else RIGHT if right > 0 else LEFT
        assert (found.shoulder, found.onto, found.own) == (expected, MIRRORED[expected], expected in (None, hand))
        assert (found.family is Family.EITHER) == (expected is None)


MIRRORED = {None: None, LEFT: RIGHT, RIGHT: LEFT}
UNMOVED = ("blows", "family", "own", "force", "strength", "downstream_mps", "outward_mps")


@BOTH_BANKS_AND_HANDS
def test_the_river_in_a_mirror_flips_every_side_and_changes_nothing_else(bank, hand):
    for wind, flow in EVERY:
        one = cast(wind, flow, bank, hand)
        other = cast((360 - wind) % 360, (360 - flow) % 360, bank.other, hand.other)
        assert (other.shoulder, other.onto) == (MIRRORED[one.shoulder], MIRRORED[one.onto])
        assert [getattr(one, name) for name in UNMOVED] == [getattr(other, name) for name in UNMOVED]


@given(EIGHTHS, EIGHTHS, EIGHTHS, SPEEDS, st.sampled_from(Side))
def test_turning_river_and_wind_together_changes_nothing(wind, flow, turn, speed, bank):
    turned = cast((wind + turn) % 360, (flow + turn) % 360, bank, speed=speed)
    assert turned == cast(wind, flow, bank, speed=speed)


@given(EIGHTHS, EIGHTHS, SPEEDS, st.sampled_from(Side))
def test_a_wind_turned_about_turns_the_advice_about(wind, flow, speed, bank):
    one, other = cast(wind, flow, bank, speed=speed), cast((wind + 180) % 360, flow, bank, speed=speed)
    assert (other.shoulder, other.onto) == (MIRRORED[one.shoulder], MIRRORED[one.onto])
    assert other.downstream_mps == pytest.approx(-one.downstream_mps, abs=1e-9)


@given(EIGHTHS, EIGHTHS, SPEEDS, st.sampled_from(Side))
def test_the_two_parts_make_up_the_wind(wind, flow, speed, bank):
    found = cast(wind, flow, bank, speed=speed)
    assert math.hypot(found.downstream_mps, found.outward_mps) == pytest.approx(speed, abs=1e-8)


def test_north_is_nought_or_three_hundred_and_sixty():
    assert cast(0, 360, LEFT) == cast(360, 0, LEFT)


def test_the_wrong_shoulder_asks_for_the_other_hand_or_a_backhand():
    right_handed, left_handed = cast(270, 90, LEFT, RIGHT), cast(270, 90, LEFT, LEFT)
    assert (right_handed.own, left_handed.own) == (False, True)
    assert right_handed.cautions[1] == (
        "Cast over your left shoulder: left hand uppermost, "
        "or keep the right uppermost and cast backhanded across your body."
    )
    assert left_handed.cautions[1] == "Cast over your left shoulder, your own."


@pytest.mark.parametrize(("speed", "blows"), [(0, Blows.HARDLY), (1.5, Blows.HARDLY), (1.7, Blows.DOWNSTREAM)])
def test_a_wind_that_is_not_felt_on_the_face_leaves_either_shoulder(speed, blows):
    assert cast(270, 90, LEFT, speed=speed).blows is blows


def test_too_much_wind_tells_nobody_how_to_cast():
    found = cast(270, 90, LEFT, speed=14)
    assert (found.strength, found.cautions) == (Strength.STOP, (BY_STRENGTH[Strength.STOP],))


def test_thunder_stops_fishing_in_any_wind():
    for speed in (0, 5, 12, 20):
        found = cast(270, 90, LEFT, speed=speed, thunder=True)
        assert (found.strength, found.cautions) == (Strength.STOP, (THUNDER,))


def test_every_strength_has_its_caution_and_none_says_safe():
    assert list(BY_STRENGTH) == list(Strength)
    assert not [text for text in (*BY_STRENGTH.values(), THUNDER) if "safe" in text.lower()]


def test_banks_are_named_as_pools_name_them():
    assert [bank.value for bank in Side] == Pool.Bank.values


@pytest.mark.parametrize("value", [float("nan"), float("inf"), float("-inf"), -0.1, 360.1])
@pytest.mark.parametrize("name", ["wind_from_deg", "wind_mps", "flow_bearing_deg"])
def test_a_bearing_or_speed_that_is_none_is_refused_by_name(name, value):
    asked = {"wind_from_deg": 10, "wind_mps": 5, "flow_bearing_deg": 20, "bank": LEFT} | {name: value}
    with pytest.raises(NotAMeasure, match=f"{name} is a number from 0 to") as refused:
        casting(**asked)
    assert list(refused.value.errors) == [name]
