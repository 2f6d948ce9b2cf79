"""Depth and speed against published limits: the worked ratings, every edge, and what must hold everywhere.

The ratings were worked out by hand from HR = d (v + 0.5) + DF. The thresholds of the stability classes and
of both editions of the rating are from memory, and the rulings must say so.
"""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from beats.water.figures import BadFigure
from beats.water.hydraulics import Measured, by_rule
from beats.water.limits import RULES, Grade, Wader, debris_factor, hazard_rating, rulings, strictest, wader

DEPTHS, SPEEDS = st.floats(0, 3), st.floats(0, 6)
WADERS = st.sampled_from(Wader)


def grades(name, depth, velocity, **told):
    return [ruling.grade for ruling in rulings(depth, velocity, **told) if ruling.rule.startswith(name)]


@pytest.mark.parametrize(
    ("depth", "velocity", "rating", "with_debris"),
    [
        (0.5, 1.0, 0.75, 1.75),
        (0.6, 1.5, 1.20, 2.20),
        (0.8, 1.0, 1.20, 2.20),
        (1.0, 0.8, 1.30, 2.30),
        (1, 1, 1.5, 2.5),
    ],
)
def test_worked_hazard_ratings(depth, velocity, rating, with_debris):
    assert hazard_rating(depth, velocity, debris=False) == pytest.approx(rating)
    assert hazard_rating(depth, velocity, debris=True) == pytest.approx(with_debris)


def test_the_first_cell_of_the_published_table():
    # Supplementary note of 2008, from memory: still water of 5 cm with debris is 0.05 x 0.5 + 0.5 = 0.53.
    assert round(hazard_rating(0.05, 0, debris=True), 2) == 0.53
    assert [debris_factor(d, debris=True) for d in (0, 0.25, 0.26)] == [0.5, 0.5, 1.0]
    assert debris_factor(2, debris=False) == 0


@pytest.mark.parametrize(
    ("velocity", "grade_2008", "grade_2006"),
    [
        (0.249, Grade.USUAL_CARE, Grade.USUAL_CARE),
        (0.25, Grade.EXTRA_CARE, Grade.EXTRA_CARE),
        (0.75, Grade.HAZARDOUS, Grade.HAZARDOUS),
        (1.499, Grade.HAZARDOUS, Grade.HAZARDOUS),
        (1.5, Grade.STAY_OUT, Grade.HAZARDOUS),
        (2.0, Grade.STAY_OUT, Grade.STAY_OUT),
    ],
)
def test_the_two_editions_of_the_rating_part_at_the_top_threshold(velocity, grade_2008, grade_2006):
    # d = 1 m, so the rating is v + 0.5: the edges 0.75, 1.25, 2.0 and 2.5 are met exactly.
    assert grades("Flood hazard", 1.0, velocity) == [grade_2008, grade_2006]


@pytest.mark.parametrize(
    ("product", "grade"),
    [(0.599, Grade.USUAL_CARE), (0.6, Grade.EXTRA_CARE), (0.8, Grade.HAZARDOUS), (1.2, Grade.STAY_OUT)],
)
def test_the_classes_of_depth_times_speed_for_adults(product, grade):
    assert grades("Stability of adults, depth times", 1.0, product) == [grade]


@pytest.mark.parametrize(
    ("product", "grade"), [(0.399, Grade.USUAL_CARE), (0.4, Grade.HAZARDOUS), (0.6, Grade.STAY_OUT)]
)
def test_the_classes_of_depth_times_speed_for_children(product, grade):
    assert grades("Stability of children, depth times", 1.0, product, who=Wader.CHILD) == [grade]


def test_depth_alone_and_speed_alone_are_limits_too():
    assert strictest(rulings(1.2, 0)) is strictest(rulings(0.1, 3.0)) is Grade.STAY_OUT
    assert strictest(rulings(1.19, 0)) is Grade.USUAL_CARE
    assert strictest(rulings(0.5, 0, who=Wader.CHILD)) is Grade.STAY_OUT
    # Slides of R. Cox, 2011: shallow water of 0.8 m/s is hard and dangerous for adults.
    assert [strictest(rulings(0.2, v)) for v in (0.79, 0.8)] == [Grade.USUAL_CARE, Grade.HAZARDOUS]


def test_a_threshold_is_met_whatever_the_last_binary_digit_says():
    depth = by_rule(1.4, Measured(level_m=0.8, depth_m=0.6, velocity_mps=0)).depth_m  # 0.6 m and 0.6 m more
    assert depth < 1.2
    assert strictest(rulings(depth, 0)) is Grade.STAY_OUT


def test_no_flow_is_tolerable_for_a_small_child():
    assert strictest(rulings(0.05, 0.05, who=Wader.FRAIL)) is Grade.STAY_OUT


def test_the_gaugers_rule_of_ten_square_feet_a_second():
    # 2 ft at 4.9 ft/s is 9.8: under; 1.0 m at 1.0 m/s is 10.76: over. 10 ft2/s are 0.929 m2/s.
    assert grades("Gaugers", 0.6096, 1.49352) == [Grade.USUAL_CARE]
    assert grades("Gaugers", 1.0, 1.0) == [Grade.STAY_OUT]
    (ruling,) = [ruling for ruling in rulings(1.0, 1.0) if ruling.rule.startswith("Gaugers")]
    assert (round(ruling.threshold, 7), ruling.value, ruling.unit) == (0.9290304, 1.0, "m²/s")


def test_fast_deep_water_drops_out_of_no_rule():
    # A table of bands that asks for depth and speed at once can lose the worst water: d = 3, v = 8.
    assert [ruling.rule for ruling in rulings(3, 8) if not ruling.reached] == []
    assert strictest(rulings(3, 8)) is Grade.STAY_OUT


def test_what_nobody_has_read_in_the_source_is_marked():
    marked = {ruling.rule.split(",")[0]: ruling.from_memory for ruling in rulings(1, 1)}
    assert marked == {
        "Stability of adults": True,
        "Flood hazard rating": True,
        "Wading by adults": False,
        "Floodway limit": False,
        "Gaugers' wading rule": False,
    }
    assert all(ruling.source and ruling.edition for ruling in rulings(1, 1))


def test_a_ruling_says_its_number_its_threshold_and_its_doubt():
    ruling = rulings(0.9, 1.0)[0]
    assert ruling.sentence == (
        "Stability of adults, depth times speed: 0.90 m²/s has reached 0.80 (threshold from memory): hazardous."
    )
    assert rulings(0.1, 0.1)[0].sentence.startswith(
        "Stability of adults, depth times speed: 0.01 m²/s is under 0.60"
    )


@given(DEPTHS, SPEEDS, DEPTHS, SPEEDS, st.fixed_dictionaries({"who": WADERS, "debris": st.booleans()}))
def test_deeper_or_faster_never_lowers_a_grade(depth, velocity, deeper, faster, told):
    before = rulings(depth, velocity, **told)
    after = rulings(depth + deeper, velocity + faster, **told)
    for one, other in zip(before, after, strict=True):
        assert one.grade.severity <= other.grade.severity


@given(DEPTHS, SPEEDS, st.booleans())
def test_a_child_is_never_told_less_than_an_adult(depth, velocity, debris):
    adult, child, frail = (strictest(rulings(depth, velocity, who=who, debris=debris)).severity for who in Wader)
    assert adult <= child <= frail


def test_every_rule_climbs_from_a_low_threshold_to_a_grave_one():
    for rules in RULES.values():
        for rule in rules:
            assert list(rule.steps) == sorted(rule.steps, key=lambda step: (step[0], step[1].severity))


def test_people_are_classed_by_height_times_weight():
    assert [wader(1.8, 80), wader(1.4, 35), wader(1.0, 25), wader(2.0, 25)] == [
        Wader.ADULT,
        Wader.CHILD,
        Wader.FRAIL,
        Wader.CHILD,  # exactly 50 is not above 50
    ]


@pytest.mark.parametrize("bad", [math.nan, math.inf, -0.01, "1", None])
def test_what_is_no_depth_or_speed_is_refused(bad):
    for depth, velocity in ((bad, 1), (1, bad)):
        with pytest.raises(BadFigure):
            rulings(depth, velocity)
    with pytest.raises(BadFigure, match="height is a number"):
        wader(bad, 80)


def test_not_known_is_no_step_of_the_scale():
    with pytest.raises(ValueError):
        _ = Grade.NOT_KNOWN.severity
    assert [grade.raised(1) for grade in Grade if grade is not Grade.NOT_KNOWN] == [
        Grade.EXTRA_CARE,
        Grade.HAZARDOUS,
        Grade.STAY_OUT,
        Grade.STAY_OUT,
    ]
