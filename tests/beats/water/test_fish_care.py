"""Water temperature against the public bodies' release advice, and the coolest hour of a day.

Natural Resources Wales, nidirect and the Wild Salmon Science Advisory Group: extra care from 18 °C, stop at
20 °C. Fisheries Management Scotland in 2018: stop at 18 °C.
"""

import datetime as dt
import math
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from beats.water.figures import BadFigure
from beats.water.fish_care import (
    AROUND_DAWN,
    DROUGHT,
    STANDING,
    Care,
    Coolest,
    Limits,
    Temperature,
    advice,
    coolest,
)

LONDON = ZoneInfo("Europe/London")
DAY = dt.date(2026, 6, 21)
MIDNIGHT = dt.datetime(2026, 6, 20, 23, tzinfo=dt.UTC)  # local midnight, in summer time
ORDER = [Care.USUAL, Care.EXTRA, Care.STOP]


def through_the_day(*, every=1, low_at=5, start=0, end=24):
    """Hourly temperatures that fall to 14 °C at an hour and rise again."""
    hours = range(start, end, every)
    return [Temperature(MIDNIGHT + dt.timedelta(hours=h), 14 + abs(h - low_at) / 4) for h in hours]


@pytest.mark.parametrize(
    ("water", "standing", "drought"),
    [
        (0, Care.USUAL, Care.USUAL),
        (17.9, Care.USUAL, Care.USUAL),
        (18.0, Care.EXTRA, Care.STOP),
        (19.9, Care.EXTRA, Care.STOP),
        (20.0, Care.STOP, Care.STOP),
        (23.0, Care.STOP, Care.STOP),
    ],
)
def test_the_published_temperatures(water, standing, drought):
    assert [advice(water).care, advice(water, drought=True).care] == [standing, drought]


def test_the_advice_names_its_limit_and_its_source():
    assert [(found.threshold_c, found.source) for found in (advice(15), advice(19), advice(21))] == [
        (18, STANDING),
        (18, STANDING),
        (20, STANDING),
    ]
    assert [
        (found.threshold_c, found.source) for found in (advice(15, drought=True), advice(19, drought=True))
    ] == [(18, DROUGHT)] * 2
    assert advice(20.2).sentence == "The water is 20.2 °C: stop fishing for salmon at 20 °C; released fish die."


def test_a_temperature_nobody_took_is_not_known():
    found = advice(None)
    assert (found.care, found.water_c) == (Care.NOT_KNOWN, None)
    assert found.sentence == "The water's temperature is not known: take it, and stop at 20 °C."


@given(st.floats(-1, 40), st.floats(-1, 40), st.booleans())
def test_warmer_water_never_asks_for_less(one, other, drought):
    cool, warm = sorted((one, other))
    assert ORDER.index(advice(cool, drought=drought).care) <= ORDER.index(advice(warm, drought=drought).care)
    assert ORDER.index(advice(cool).care) <= ORDER.index(advice(cool, drought=True).care)


def test_a_fishery_may_be_stricter():
    strict = Limits(care_c=16, stop_c=18, drought_stop_c=17)
    assert [advice(t, limits=strict).care for t in (15.9, 16, 18)] == ORDER
    assert advice(17, drought=True, limits=strict).care is Care.STOP


@pytest.mark.parametrize("wrong", [{"care_c": 21}, {"drought_stop_c": 20.5}, {"stop_c": math.nan}, {"stop_c": 68}])
def test_limits_that_cannot_be_are_refused(wrong):
    with pytest.raises(BadFigure):
        Limits(**wrong)


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf, "18", 64.4, -5])
def test_what_is_no_water_temperature_is_refused(bad):
    # One advice note prints 20 °C as 64 °F, which is 18 °C (20 °C is 68 °F): only Celsius is taken.
    for call in (advice, lambda water: Temperature(MIDNIGHT, water)):
        with pytest.raises(ValueError, match="from -1 to 40 °C"):
            call(bad)


def test_the_coolest_hour_is_told_in_local_time():
    found = coolest(through_the_day()[::-1], day=DAY, zone=LONDON)
    assert (found.at, found.water_c, found.measured) == (MIDNIGHT + dt.timedelta(hours=5), 14, True)
    assert found.sentence == "The water was coolest at 05:00: 14.0 °C."


def test_of_two_equal_hours_the_first_is_told():
    steady = [Temperature(MIDNIGHT + dt.timedelta(hours=h), 15) for h in range(0, 24, 4)]
    assert coolest(steady, day=DAY, zone=LONDON).at == MIDNIGHT


@pytest.mark.parametrize(
    "few",
    [
        [],
        through_the_day(every=5),
        through_the_day(start=5),
        through_the_day(end=20),
        [Temperature(MIDNIGHT + dt.timedelta(hours=h - 24), 3) for h in range(24)],
    ],
    ids=["none", "five hours apart", "from five in the morning", "until seven at night", "of the day before"],
)
def test_with_too_few_readings_what_is_usual_is_said(few):
    assert coolest(few, day=DAY, zone=LONDON) == Coolest(
        None, None, f"Too few temperatures that day to tell. {AROUND_DAWN}"
    )


def test_another_day_s_cold_does_not_count():
    colder_before = [Temperature(MIDNIGHT - dt.timedelta(minutes=1), 2)]
    assert coolest(colder_before + through_the_day(), day=DAY, zone=LONDON).water_c == 14


def test_the_day_the_clocks_go_back_is_twenty_five_hours_long():
    start = dt.datetime(2026, 10, 24, 23, tzinfo=dt.UTC)
    readings = [Temperature(start + dt.timedelta(hours=h), 10 - h / 10) for h in range(26)]
    found = coolest(readings, day=dt.date(2026, 10, 25), zone=LONDON)
    assert (found.at, found.sentence) == (
        start + dt.timedelta(hours=24),
        "The water was coolest at 23:00: 7.6 °C.",
    )
