"""The grade of a pool for one wader: what decides it, what raises it, and when there is none."""

import itertools
import math
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from beats.water.figures import BadFigure
from beats.water.hydraulics import Flow, NotKnown
from beats.water.limits import Grade, Wader
from beats.water.wading import CANNOT_SEE, NO_LEVEL, Setting, Thresholds, Trust, verdict
from beats.water.wading_depths import NEXT_HEIGHT_M, STANDS_IN, WadingGrade

EASY = Flow(0.4, 0.5, "measured")
HARDEST = {"own_grade": 3, "pool_grade": 3}
KNOWN = {"bottom_seen": True, "water_c": 12.0, "rise_m_per_h": 0.0, **HARDEST}
LIMITED = Thresholds(rise_m_per_h=0.1)
SETTINGS = st.builds(
    Setting,
    who=st.sampled_from(Wader),
    alone=st.booleans(),
    new_here=st.booleans(),
    bottom_seen=st.sampled_from([True, False, None]),
    water_c=st.none() | st.floats(0, 25),
    rise_m_per_h=st.none() | st.floats(-1, 1),
    debris=st.booleans(),
    thresholds=st.just(LIMITED),
)


def grade(flow=EASY, level=Trust.FRESH, **told):
    return verdict(flow, level, Setting(**(KNOWN | told))).grade


def test_nothing_raises_easy_water_for_two_who_know_it():
    found = verdict(EASY, Trust.FRESH, Setting(**KNOWN))
    assert (found.grade, found.water, found.cautions) == (Grade.USUAL_CARE, Grade.USUAL_CARE, (CANNOT_SEE,))


@pytest.mark.parametrize(
    ("flow", "expected", "deciding"),
    [
        (Flow(0.5, 0.5, ""), Grade.USUAL_CARE, None),
        (Flow(1.0, 0.3, ""), Grade.EXTRA_CARE, "Flood hazard rating"),
        (Flow(0.3, 0.9, ""), Grade.HAZARDOUS, "Wading by adults, shallow water"),
        (Flow(1.0, 1.0, ""), Grade.STAY_OUT, "Gaugers"),
        (Flow(1.3, 0.0, ""), Grade.STAY_OUT, "Stability of adults, depth"),
    ],
)
def test_the_strictest_rule_decides_alone(flow, expected, deciding):
    found = verdict(flow, Trust.FRESH, Setting(**KNOWN))
    assert found.water is expected
    assert found.grade.severity >= expected.severity  # deeper than the hip raises it further
    if deciding:
        gravest = [ruling.rule for ruling in found.rulings if ruling.grade is expected]
        assert all(rule.startswith(deciding) for rule in gravest)
        assert gravest


@pytest.mark.parametrize(
    ("told", "expected"),
    [
        ({"alone": True}, Grade.EXTRA_CARE),
        ({"new_here": True}, Grade.EXTRA_CARE),
        ({"water_c": 10.0}, Grade.EXTRA_CARE),
        ({"water_c": 10.1}, Grade.USUAL_CARE),
        ({"bottom_seen": False}, Grade.HAZARDOUS),
        ({"rise_m_per_h": 0.1, "thresholds": LIMITED}, Grade.STAY_OUT),
        ({"rise_m_per_h": 0.099, "thresholds": LIMITED}, Grade.USUAL_CARE),
        ({"rise_m_per_h": 0.5}, Grade.USUAL_CARE),  # the fishery has set no limit
        ({"rise_m_per_h": -0.5, "thresholds": LIMITED}, Grade.USUAL_CARE),
        ({"alone": True, "new_here": True, "water_c": 4.0}, Grade.EXTRA_CARE),  # the largest step, not the sum
        ({"alone": True, "bottom_seen": False}, Grade.HAZARDOUS),
    ],
)
def test_what_raises_easy_water(told, expected):
    assert grade(**told) is expected


def test_a_raised_grade_shows_what_the_water_alone_was():
    found = verdict(Flow(0.6, 0.75, ""), Trust.FRESH, Setting(**(KNOWN | {"alone": True})))
    assert (found.water, found.grade) == (Grade.EXTRA_CARE, Grade.HAZARDOUS)


def test_cautions_come_gravest_first_and_end_with_what_cannot_be_seen():
    told = Setting(alone=True, bottom_seen=False, water_c=4, rise_m_per_h=0.2, thresholds=LIMITED, **HARDEST)
    first_words = [" ".join(caution.split()[:4]) for caution in verdict(EASY, Trust.FRESH, told).cautions]
    assert first_words == [
        "The river is rising",
        "The water is coloured",
        "The water is cold",
        "You are alone: check",
        "These figures know nothing",
    ]


def test_what_is_not_known_is_said():
    cautions = verdict(EASY, Trust.FRESH, Setting(**HARDEST)).cautions
    assert [caution for caution in cautions if "not known" in caution] == [
        "Whether the river is rising is not known: put a stone at the edge and watch it.",
        "Whether the bottom can be seen is not known: where you cannot see it, do not wade.",
        "The temperature of the water is not known: take it as cold.",
    ]


def test_a_slow_rise_is_told_with_its_number():
    cautions = verdict(EASY, Trust.FRESH, Setting(**(KNOWN | {"rise_m_per_h": 0.06}))).cautions
    assert cautions[0] == "The river is rising 0.06 m an hour: keep your way back in sight."


@given(SETTINGS, st.sampled_from(sorted(set(Trust) - {Trust.FRESH, Trust.UNCONFIRMED})))
def test_a_level_that_cannot_be_trusted_gives_no_grade_whatever_else_is_known(setting, level):
    for flow in (EASY, Flow(3, 5, ""), NotKnown("No table.")):
        found = verdict(flow, level, setting)
        assert (found.grade, found.water, found.rulings) == (Grade.NOT_KNOWN, None, ())
        assert found.cautions[0] == NO_LEVEL[level]


def test_a_pool_whose_depth_is_not_known_has_no_grade_and_says_why():
    found = verdict(NotKnown("Outside the table."), Trust.FRESH, Setting(**KNOWN))
    assert (found.grade, found.rulings, found.cautions) == (
        Grade.NOT_KNOWN,
        (),
        ("Outside the table.", CANNOT_SEE),
    )


@given(SETTINGS, st.floats(0, 2), st.floats(0, 3), st.floats(0, 2), st.floats(0, 3))
def test_deeper_or_faster_never_lowers_the_grade(setting, depth, velocity, deeper, faster):
    before = verdict(Flow(depth, velocity, ""), Trust.FRESH, setting)
    after = verdict(Flow(depth + deeper, velocity + faster, ""), Trust.FRESH, setting)
    assert before.water.severity <= before.grade.severity <= after.grade.severity


def test_nobody_is_ever_told_they_are_safe():
    for alone, new, seen, cold, rise, who in itertools.product(
        (False, True), (False, True), (None, False, True), (None, 4.0, 12.0), (None, 0.05, 0.5), Wader
    ):
        setting = Setting(who, alone, new, seen, cold, rise, thresholds=LIMITED)
        for level, flow in itertools.product(Trust, (EASY, Flow(0, 0, ""), Flow(2, 3, ""))):
            found = verdict(flow, level, setting)
            told = [found.grade, *found.cautions, *(ruling.sentence for ruling in found.rulings)]
            assert not re.search(r"\bsafe", " ".join(told), re.IGNORECASE)


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf, "12"])
def test_a_temperature_or_rate_that_cannot_be_is_refused(bad):
    for told in ({"water_c": bad}, {"rise_m_per_h": bad}):
        with pytest.raises(BadFigure):
            Setting(**told)
    for limits in ({"cold_c": bad}, {"rise_m_per_h": bad}):
        with pytest.raises(BadFigure):
            Thresholds(**limits)


def test_water_in_fahrenheit_is_refused():
    with pytest.raises(BadFigure, match=r"from -1 to 40 °C; 54\.0 is not"):
        Setting(water_c=54.0)


GRADES = st.none() | st.sampled_from(WadingGrade)
STILL = st.floats(0, 2).map(lambda depth: Flow(depth, 0.0, ""))


@given(STILL, GRADES, GRADES, st.booleans())
def test_the_stricter_of_the_two_grades_counts(flow, pool, own, measured):
    """Neither grade can make the verdict milder than the same grade on both sides."""

    def of(pool, own):
        told = Setting(**(KNOWN | {"pool_grade": pool, "own_grade": own}))
        return verdict(flow, Trust.FRESH, told, measured=measured).grade.severity

    strictest = min(WadingGrade.EASY if grade is None else grade for grade in (pool, own))
    assert of(pool, own) >= of(strictest, strictest)


@given(STILL, GRADES)
def test_a_grade_that_is_not_known_is_never_the_lenient_one(flow, other):
    for known in (WadingGrade.EASY, WadingGrade.FAIR, WadingGrade.HARD):
        for unknown, told in (
            ({"own_grade": None, "pool_grade": other}, {"own_grade": known, "pool_grade": other}),
            ({"own_grade": other, "pool_grade": None}, {"own_grade": other, "pool_grade": WadingGrade.EASY}),
        ):
            without, with_it = (
                verdict(flow, Trust.FRESH, Setting(**(KNOWN | each))).grade for each in (unknown, told)
            )
            assert without.severity >= with_it.severity


@pytest.mark.parametrize("grade", [WadingGrade.EASY, WadingGrade.FAIR, WadingGrade.HARD])
def test_each_grade_is_a_height_on_the_body(grade):
    """The heights are those of a small adult: personal.cityu.edu.hk/meachan, online anthropometry."""
    told = {"own_grade": grade, "pool_grade": grade}
    own, following = STANDS_IN[grade][1], NEXT_HEIGHT_M[grade]
    found = [
        verdict(Flow(depth, 0.0, ""), Trust.FRESH, Setting(**(KNOWN | told))).grade
        for depth in (own, own + 0.01, following, following + 0.01)
    ]
    assert found == [Grade.USUAL_CARE, Grade.HAZARDOUS, Grade.HAZARDOUS, Grade.STAY_OUT]
