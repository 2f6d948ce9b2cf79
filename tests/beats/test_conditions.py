"""A beat's day in one answer: law, light and level, cautions first."""

import datetime as dt
import json

import pytest

from beats.conditions import CANNOT_SEE, conditions
from beats.light import DARKER_THAN_TOLD
from beats.models import ConservationGrade
from beats.season import Status
from beats.shared.plain import plain
from beats.water.wading import BELOW_A_DAM
from tests.factories import NOON, BeatFactory, GaugeFactory, ReadingFactory, client_of, keeper

pytestmark = pytest.mark.django_db

UNKNOWN = "The height of the river is not known: look at it before you step in."
MINUTE = dt.timedelta(minutes=1)


@pytest.fixture
def beat():
    beat = BeatFactory(gauge=GaugeFactory(name="Bridge", stale_after_minutes=60))
    ConservationGrade.objects.create(fishery=beat.fishery, from_on=dt.date(2026, 4, 1), grade="good")
    return beat


def today(beat, *, now=NOON):
    return conditions(beat, day=None, now=now)


def sentences(told):
    return tuple(caution.sentence for caution in told.cautions)


def test_on_an_open_day_with_a_fresh_level_the_limits_are_still_said(beat):
    ReadingFactory(gauge=beat.gauge, at=NOON - 40 * MINUTE, level_m=0.62)
    told = today(beat)
    assert (told.day, told.law.status) == (dt.date(2026, 5, 6), Status.OPEN)
    assert sentences(told) == (CANNOT_SEE, BELOW_A_DAM, DARKER_THAN_TOLD)
    assert told.level.words == "Bridge: 0.62 m, read 40 min ago."
    assert told.summary.startswith("Open. Sunrise 05:")
    assert told.summary.endswith("Bridge: 0.62 m, read 40 min ago.")


@pytest.mark.parametrize(("minutes", "stale"), [(60, False), (61, True)])
def test_a_reading_grows_old_and_says_so(beat, minutes, stale):
    ReadingFactory(gauge=beat.gauge, at=NOON - minutes * MINUTE, level_m=0.62)
    told = today(beat)
    assert (told.level.stale, sentences(told)[0] == UNKNOWN) == (stale, stale)
    assert told.level.words.endswith("This is old: look at the river itself.") == stale


def test_without_a_reading_or_a_gauge_the_height_is_unknown(beat):
    assert today(beat).level.words == "Bridge: no reading yet. Look at the river itself."
    bare = today(BeatFactory())
    assert (bare.level, sentences(bare)[0]) == (None, UNKNOWN)
    assert bare.summary.endswith("Level not known.")


def test_a_reading_of_the_future_is_not_the_level_now(beat):
    ReadingFactory(gauge=beat.gauge, at=NOON - MINUTE, level_m=0.62)
    ReadingFactory(gauge=beat.gauge, at=NOON + MINUTE, level_m=2.0)
    assert today(beat).level.level_m == 0.62


def test_a_closed_day_is_the_first_caution(beat):
    told = conditions(beat, day=dt.date(2026, 5, 10), now=NOON)
    assert sentences(told)[0] == "Sunday 10 May 2026: Nobody may fish for salmon on a Sunday."
    assert told.summary.startswith("Closed. ")


def test_another_day_has_law_and_light_but_no_level(beat):
    ReadingFactory(gauge=beat.gauge, at=NOON)
    told = conditions(beat, day=dt.date(2026, 5, 7), now=NOON)
    assert told.level is None
    assert UNKNOWN not in sentences(told)


def test_today_is_the_day_at_the_river(beat):
    assert today(beat, now=dt.datetime(2026, 5, 6, 23, 30, tzinfo=dt.UTC)).day == dt.date(2026, 5, 7)


def test_a_tidal_beat_and_a_missing_grade_are_cautions():
    told = today(BeatFactory(tidal=True))
    assert sentences(told)[-1] == "The tide reaches this beat. Know the hour of high water before you wade."
    assert any("No conservation grade is recorded" in text for text in sentences(told))


def test_nothing_says_that_the_river_is_safe(beat):
    ReadingFactory(gauge=beat.gauge, at=NOON)
    told = today(beat)
    assert "safe" not in json.dumps(plain(told), default=str).lower()


def test_over_the_wire_a_day_of_one_s_choice_is_answered(beat):
    client = client_of(keeper(beat.fishery))
    body = client.get(f"/api/v1/beats/{beat.pk}/conditions/", {"day": "2026-05-10"}).json()
    assert (body["beat"], body["day"], body["law"]["status"]) == (beat.pk, "2026-05-10", "closed")
    assert body["light"]["sunrise_at"].startswith("2026-05-10T05:")
