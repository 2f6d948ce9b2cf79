"""A beat's day from its facts: nothing from a level in doubt, nothing guessed, the gravest first."""

import datetime as dt
import itertools
import json
import math
import re

import pytest

from beats.light import light
from beats.shared.plain import plain
from beats.water.casting import THUNDER, Side
from beats.water.facts import Noted, Who
from beats.water.fish_care import Care, Temperature
from beats.water.hydraulics import Factors, Measured
from beats.water.limits import Grade, Wader
from beats.water.noted import CLARITY_LASTS, WATER_LASTS, WEATHER_LASTS
from beats.water.pool_today import NO_REFERENCE, NO_TIDES, NO_WIND
from beats.water.practice import Clarity
from beats.water.reckoning import HEIGHT_NOT_KNOWN
from beats.water.section import Wader as WadingGrade
from beats.water.today import TIDE, conditions
from beats.water.trend import Band
from beats.water.wading import CANNOT_SEE, NO_LEVEL, Trust
from tests.beats.water.days import DAY, MINUTE, NOON, QUARTER, SEEN, ZONE, facts, levels, tides

IN_DOUBT = [
    ((), Trust.UNKNOWN),
    (levels(0.6, 0.6, 0.6, until=NOON - 61 * MINUTE), Trust.STALE),
    (levels(0.6, 0.6, 10.6), Trust.DISTRUSTED),
]


def told(*, who=None, **known):
    return conditions(facts(**known), who or Who())


def sentences(cautions):
    return [caution.sentence for caution in cautions]


def pool_of(day):
    (pool,) = day.pools
    return pool


def test_a_full_day_leaves_nothing_unknown():
    day = told(pool={"wading_grade": WadingGrade.FAIR}, who=Who(grade=WadingGrade.FAIR))
    pool = pool_of(day)
    assert (day.level.trust, day.level.band, day.level.rise_m_per_h) == (Trust.FRESH, Band.WITHIN, 0)
    assert (pool.flow.depth_m, pool.flow.velocity_mps, pool.flow.why_not) == (0.5, 0.5, "")
    assert (pool.wading.grade, pool.wading.water) == (Grade.USUAL_CARE, Grade.USUAL_CARE)
    assert (pool.casting_why_not, pool.tackle_why_not, pool.window.standing) == ("", "", "within")
    assert [each.what for each in pool.lies] == ["big stones"]
    assert next(each for each in pool.tackle if each.what == "fly").said_by == "Callum Baird"


@pytest.mark.parametrize(("readings", "trust"), IN_DOUBT)
def test_from_a_level_in_doubt_nothing_is_reckoned_and_everything_says_so(readings, trust):
    day = told(readings=readings)
    pool = pool_of(day)
    assert (day.level.trust, day.level.band, day.level.rise_m_per_h) == (trust, None, None)
    assert (pool.flow.depth_m, pool.flow.why_not) == (None, NO_LEVEL[trust])
    assert (pool.wading.grade, pool.wading.water, pool.wading.rulings) == (Grade.NOT_KNOWN, None, ())
    assert (pool.window.standing, pool.tackle_why_not) == ("not known", NO_LEVEL[trust])
    assert [(each.what, each.working) for each in pool.tackle] == [("fly", "Nothing is reckoned today.")]
    first = NO_LEVEL[trust] if trust is Trust.DISTRUSTED else HEIGHT_NOT_KNOWN
    assert sentences(day.cautions)[0] == first


@pytest.mark.parametrize(("readings", "trust"), IN_DOUBT)
def test_the_summary_says_what_is_the_matter_with_the_level(readings, trust):
    says = {Trust.UNKNOWN: "no reading yet", Trust.STALE: "This is old", Trust.DISTRUSTED: "is not trusted"}
    assert says[trust] in told(readings=readings).summary


def test_an_old_level_tells_its_age_and_the_age_that_is_old():
    caution = told(readings=levels(0.6, until=NOON - 75 * MINUTE)).cautions[0]
    assert (caution.value, caution.threshold, caution.unit, caution.age_minutes) == (75, 60, "min", 75)


def test_a_jump_that_a_person_vouches_for_is_reckoned_with():
    readings = levels(0.6, 0.6, 3.6)
    vouched = (*readings[:2], type(readings[0])(NOON, 3.6, trusted=True))
    pool = pool_of(told(readings=vouched))
    assert (pool.flow.depth_m, pool.wading.grade) == (3.5, Grade.STAY_OUT)


def test_every_ruling_shows_its_number_its_source_and_whether_it_is_from_memory():
    rulings = pool_of(told(pool={"depth_m": 1.2, "velocity_mps": 1.0})).wading.rulings
    assert all(each.source and each.edition and each.unit for each in rulings)
    ratings = [(each.threshold, each.from_memory) for each in rulings if each.rule == "Flood hazard rating"]
    assert ratings == [(1.25, True), (1.25, True)]
    assert {each.edition for each in rulings if each.rule == "Flood hazard rating"} == {
        "supplementary note, May 2008: top threshold 2.0",
        "FD2321, 2006: top threshold 2.5",
    }


@pytest.mark.parametrize(
    ("asked", "grade"),
    [
        (Who(), Grade.USUAL_CARE),
        (Who(alone=True), Grade.EXTRA_CARE),
        (Who(new_here=True), Grade.EXTRA_CARE),
        (Who(grade=WadingGrade.BANK), Grade.STAY_OUT),
        (Who(grade=WadingGrade.EASY), Grade.USUAL_CARE),
        (Who(wader=Wader.FRAIL), Grade.STAY_OUT),
    ],
)
def test_the_grade_is_for_the_one_who_asks(asked, grade):
    assert pool_of(told(pool={"wading_depth_m": 0.3}, who=asked)).wading.grade is grade


def test_slow_water_to_the_waist_is_no_water_to_the_knee():
    deep = {"wading_depth_m": 1.1, "wading_velocity_mps": 0.1}
    for asked in (Who(grade=WadingGrade.EASY), Who(grade=WadingGrade.HARD), Who()):
        wading = pool_of(told(pool=deep, who=asked)).wading
        assert (wading.water, wading.grade) == (Grade.USUAL_CARE, Grade.STAY_OUT)
        caution = wading.cautions[0]
        assert (caution.value, caution.threshold, caution.unit) == (1.1, 0.35, "m")


def test_the_depth_of_today_counts_and_not_the_one_that_was_measured():
    pool = {"wading_depth_m": 0.3, "wading_velocity_mps": 0.1}
    asked = Who(grade=WadingGrade.HARD)
    found = [pool_of(told(pool=pool, readings=levels(*[0.6 + up] * 9), who=asked)).wading for up in (0, 0.1, 0.3)]
    assert [each.grade for each in found] == [Grade.USUAL_CARE, Grade.HAZARDOUS, Grade.STAY_OUT]
    assert [each.depth_m for each in found] == [0.3, 0.4, 0.6]


def test_where_nobody_measured_the_standing_depth_the_pool_is_hazardous_and_says_why():
    wading = pool_of(told(pool={"velocity_mps": 0.1}, who=Who(grade=WadingGrade.EASY))).wading
    assert wading.grade is Grade.HAZARDOUS
    assert sentences(wading.cautions)[0].startswith("How deep it is where one stands was not measured.")


def test_nobody_wades_a_pool_that_is_fished_from_the_bank():
    wading = pool_of(told(pool={"wading_grade": WadingGrade.BANK})).wading
    assert (wading.grade, wading.water) == (Grade.STAY_OUT, Grade.USUAL_CARE)
    assert sentences(wading.cautions)[0].startswith("Nobody wades this pool")


def test_a_pool_follows_its_factors_or_else_its_own_table():
    at_08 = {"readings": levels(0.8, 0.8, 0.8)}
    wide = pool_of(told(pool={"factors": Factors(depth_per_level=0.5, velocity_exponent=0)}, **at_08)).flow
    assert (wide.depth_m, wide.velocity_mps, wide.how) == (0.6, 0.5, "by rule from 0.60 m on the gauge")
    rows = (Measured(0.6, 0.4, 0.2), Measured(1.0, 0.8, 0.6))
    table = pool_of(told(pool={"table": rows}, **at_08)).flow
    assert (table.depth_m, table.velocity_mps, table.how) == (0.6, 0.4, "by the pool's own table")
    assert pool_of(told(pool={"table": rows[1:] + rows[:1]}, readings=levels(1.1))).flow.depth_m is None


def test_a_pool_measured_at_no_known_level_says_so():
    assert pool_of(told(pool={"reference_level_m": None})).flow.why_not == NO_REFERENCE


@pytest.mark.parametrize(
    ("level_m", "standing"), [(0.29, "below"), (0.3, "within"), (0.9, "within"), (0.91, "above")]
)
def test_a_pool_has_a_window_of_levels_both_ends_within(level_m, standing):
    assert pool_of(told(readings=levels(level_m))).window.standing == standing


@pytest.mark.parametrize(
    ("lasts", "what"), [(WEATHER_LASTS, "wind"), (CLARITY_LASTS, "clarity"), (WATER_LASTS, "temperature")]
)
@pytest.mark.parametrize("late", [dt.timedelta(0), MINUTE])
def test_what_was_noted_holds_for_its_hours_and_no_longer(lasts, what, late):
    seen = Noted(NOON - lasts - late, "Isla", 90, 5.0, False, Clarity.COLOURED, 9.0)
    day = told(noted=(seen,), temperatures=())
    found = {"wind": day.wind.mps, "clarity": day.water.clarity, "temperature": day.water.temperature_c}[what]
    assert (found is not None) == (late == dt.timedelta(0))


def test_without_wind_no_shoulder_is_named():
    day = told(noted=())
    assert (day.wind.words, pool_of(day).casting, pool_of(day).casting_why_not) == (NO_WIND, None, NO_WIND)


def test_wind_and_hand_decide_the_shoulder():
    # The water runs to 240, the wind comes from there: upstream. From the left bank upstream is the right.
    cast = pool_of(told(who=Who(hand=Side.LEFT))).casting
    assert (cast.shoulder, cast.own, cast.casts) == (Side.RIGHT, False, ("single Spey", "snap T", "circle C"))


def test_thunder_comes_before_everything_that_is_not_about_the_water():
    seen = Noted(NOON, "Isla", thunder=True)
    assert sentences(told(noted=(seen,)).cautions)[0] == THUNDER


def test_the_newest_temperature_counts_whoever_took_it():
    assert told().water.temperature_by == "the gauge"
    older = (Temperature(NOON - 30 * MINUTE, 11.0),)
    day = told(temperatures=older)
    assert (day.water.temperature_by, day.water.temperature_c, day.water.temperature_age_minutes) == (
        "Callum Baird", 12.0, 20,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("water_c", "drought", "care"),
    [(17.9, False, Care.USUAL), (18, False, Care.EXTRA), (20, False, Care.STOP), (18, True, Care.STOP)],
)
def test_warm_water_is_a_caution_for_the_fish(water_c, drought, care):
    day = told(temperatures=(Temperature(NOON, water_c),), beat={"drought": drought})
    assert day.fish.care is care
    assert (day.fish.sentence in sentences(day.cautions)) == (care is not Care.USUAL)


def test_the_bottom_is_taken_as_seen_in_clear_water_alone():
    def says(clarity):
        seen = Noted(NOON, "Isla", clarity=clarity)
        return [text for text in sentences(pool_of(told(noted=(seen,))).wading.cautions) if "bottom" in text]

    assert says(Clarity.CLEAR) == []
    assert len(says(Clarity.COLOURED)) == len(says(Clarity.PEAT)) == 1
    assert says(Clarity.COLOURED) != says(Clarity.PEAT)


def test_rising_too_fast_is_said_for_the_beat_and_for_the_pool():
    day = told(readings=levels(*[0.5 + n * 0.05 for n in range(5)]))
    first, wading = day.cautions[0], pool_of(day).wading
    assert (first.value, first.threshold, first.unit) == (pytest.approx(0.2), 0.2, "m/h")
    assert (wading.grade, sentences(wading.cautions)[0]) == (Grade.STAY_OUT, first.sentence)


def test_the_tide_is_told_by_both_rules_with_the_hours_a_pool_is_cut_off():
    # Low water 1 m at 11:00, high 4 m at 17:00 UTC: after three hours half by cosine, half by twelfths.
    day = told(now=NOON + dt.timedelta(hours=3), readings=())
    assert (day.tide.height_m, day.tide.height_by_twelfths_m, day.tide.rising) == (2.5, 2.5, True)
    windows = pool_of(day).cut_off.windows
    assert [window.start < NOON + dt.timedelta(hours=6) < window.end for window in windows] == [False, True]
    assert pool_of(day).cut_off.sentence.startswith("Cut off by 3.5 m of tide: ")


def test_hours_the_tide_table_does_not_tell_are_unknown_and_never_dry():
    short = tides(first=NOON, count=2)
    cut = pool_of(told(tides=short)).cut_off
    assert len(cut.unknown) == 2
    assert cut.sentence.endswith("take those hours as cut off.")
    bare = told(tides=None)
    assert (bare.tide.words, pool_of(bare).cut_off.windows, len(pool_of(bare).cut_off.unknown)) == (
        NO_TIDES,
        (),
        1,
    )


def test_where_no_tide_reaches_nothing_is_said_of_it():
    day = told(beat={"tidal": False})
    assert (day.tide, pool_of(day).cut_off, TIDE in sentences(day.cautions)) == (None, None, False)


def test_the_light_is_told_with_the_beats_own_margin():
    day = told(beat={"dark_margin": dt.timedelta(minutes=45)})
    assert day.light.last_light_at - day.light.off_water_by_at == dt.timedelta(minutes=45)
    late = told(now=day.light.off_water_by_at, readings=(), beat={"dark_margin": dt.timedelta(minutes=45)})
    dark = next(caution for caution in late.cautions if caution.sentence.startswith("It is dark from"))
    assert (dark.value, dark.threshold) == (45, 45)


def test_at_the_pole_the_light_is_not_known_and_that_is_said():
    there = light(DAY, latitude=90, longitude=0, zone=ZONE)
    day = told(light=there)
    assert (day.light.off_water_by_at, day.light.words) == (
        None, "The sun gives no end of twilight on this day here: go by the light itself.",
    )  # fmt: skip


def test_another_day_has_law_light_and_tide_but_nothing_that_was_read_today():
    day = told(day=DAY + dt.timedelta(days=1))
    assert (day.level, day.wind.mps, day.water.temperature_c, day.tide.height_m) == (None, None, None, None)
    assert len(day.tide.waters) == 4
    assert pool_of(day).wading.grade is Grade.NOT_KNOWN


def test_the_limits_of_it_all_are_said_every_time():
    for readings, noted in itertools.product(([], levels(0.6), levels(0.6, 9.0)), ((), (SEEN,))):
        day = told(readings=tuple(readings), noted=noted)
        assert CANNOT_SEE in sentences(day.cautions)
        assert CANNOT_SEE in sentences(pool_of(day).wading.cautions)


def test_nothing_anywhere_says_that_it_is_safe():
    for known in ({}, {"readings": ()}, {"noted": ()}, {"tides": None}, {"readings": levels(0.6, 0.6, 10.6)}):
        said = json.dumps(plain(told(**known)), default=str).lower()
        assert re.findall(r"\b(?:un)?safe(?:ly)?\b", said) == []


@pytest.mark.parametrize("level_m", [0.601, 0.75, 0.9, 1.2, 1.5])
def test_more_water_never_lowers_the_hazard(level_m):
    low, high = (pool_of(told(readings=levels(*[at] * 3))).wading for at in (0.6, level_m))
    assert high.grade.severity >= low.grade.severity
    assert not math.isnan(high.rulings[0].value)


def test_a_reading_at_the_same_quarter_twice_counts_once():
    readings = (*levels(0.6, 0.6), levels(0.6, until=NOON - QUARTER)[0])
    assert told(readings=readings).level.level_m == 0.6
