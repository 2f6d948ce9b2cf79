"""A river that begins to rise: conditions over HTTP, the pages, the recall by the sweep."""

import datetime as dt

import pytest
from django.utils import timezone

from safety.models import Recall
from safety.rising import Marks, gauge_calls, rise_calls
from safety.services.conditions import look_at_water
from tests.factories import (
    BeatFactory,
    GaugeFactory,
    OutingFactory,
    PoolFactory,
    ReadingFactory,
    client_of,
    keeper,
)
from tests.pages import text

pytestmark = pytest.mark.django_db
MINUTE = dt.timedelta(minutes=1)
FLAT = [0.6] * 20


@pytest.fixture
def gauge():
    return GaugeFactory(typical_low_m=0.2, typical_high_m=1.4)


@pytest.fixture
def beat(gauge):
    beat = BeatFactory(fishery=gauge.fishery, gauge=gauge, watch_policy=None)
    PoolFactory(beat=beat, depth_m=0.4, velocity_mps=0.3, reference_level_m=0.6)
    return beat


@pytest.fixture
def ghillie(beat):
    return keeper(beat.fishery, "ghillie")


def read(gauge, levels, *, last, every=15):
    gauge.readings.all().delete()
    for n, level_m in enumerate(reversed(levels)):
        ReadingFactory(gauge=gauge, at=last - n * every * MINUTE, level_m=level_m)


def conditions(beat, ghillie):
    answer = client_of(ghillie).get(f"/api/v1/beats/{beat.pk}/conditions/")
    assert answer.status_code == 200
    return answer.json()


def out(beat, now):
    late = now + dt.timedelta(hours=9)
    return OutingFactory(beat=beat, checked_in_at=now - 60 * MINUTE, due_back_at=late, alarm_at=late)


def level_page(client, ghillie, fishery):
    client.force_login(ghillie)
    return text(client.get(f"/at/{fishery.slug}/level/"))


@pytest.mark.parametrize(
    ("levels", "rising", "unconfirmed"),
    [
        (FLAT, False, None),
        ([*FLAT, 0.85], None, "rise_step"),
        ([*FLAT, 0.85, 1.1], True, "rise_step"),
        ([*FLAT, 0.75], True, None),
        ([*FLAT, 1.35], None, "rise_step"),
        ([*FLAT, 1.35, 0.6], False, None),
        ([0.6, 1.35], None, "rise_step"),
        ([0.6], None, None),
    ],
)
def test_the_conditions_say_whether_it_rises(beat, ghillie, levels, rising, unconfirmed):
    read(beat.gauge, levels, last=timezone.now())
    level = conditions(beat, ghillie)["level"]
    assert (level["rising"], level["unconfirmed"]) == (rising, unconfirmed)
    if rising is not False:
        assert level["rise_m_per_h"] != 0


def test_the_first_reading_of_a_rise_is_never_steady_and_the_second_is_rising(gauge, beat, ghillie, client):
    for levels, words in (([*FLAT, 0.85], "rising or misread"), ([*FLAT, 0.85, 1.1], "RISING")):
        read(gauge, levels, last=timezone.now())
        day = conditions(beat, ghillie)
        page = level_page(client, ghillie, beat.fishery)
        assert words in day["level"]["words"]
        assert words in day["summary"]
        assert words in page
        for told in (day["summary"], page):
            assert "teady" not in told
            assert "olding" not in told
        assert day["pools"][0]["wading"]["grade"] == "stay out"
        assert any("come out" in caution["sentence"] for caution in day["cautions"])


def test_one_level_noted_by_hand_never_reads_as_holding(gauge, beat, ghillie, client):
    now = timezone.now()
    for gap in (15, 60, 200, 900):
        gauge.readings.all().delete()
        ReadingFactory(gauge=gauge, at=now - gap * MINUTE, level_m=0.63, source="hand")
        ReadingFactory(gauge=gauge, at=now, level_m=1.35, source="hand")
        page = level_page(client, ghillie, beat.fishery)
        assert "Holding" not in page
        assert "not known until the next reading" in page


def test_a_river_that_has_just_crested_is_not_shown_as_holding(gauge, beat, ghillie, client):
    read(gauge, [*FLAT, 0.8, 1.0, 1.2, *[1.2] * 6], last=timezone.now())
    assert "Holding" not in level_page(client, ghillie, beat.fishery)
    assert "Steady" not in conditions(beat, ghillie)["summary"]


def test_a_calm_river_is_holding_and_the_standing_advice_is_near_the_level(gauge, beat, ghillie, client):
    read(gauge, FLAT, last=timezone.now())
    page = level_page(client, ghillie, beat.fishery)
    assert "Holding" in page
    assert "Below a dam" in page
    assert any("Below a dam" in caution["sentence"] for caution in conditions(beat, ghillie)["cautions"])


def test_the_recall_follows_within_one_sweep_of_rising(gauge, beat, ghillie):
    now = timezone.now().replace(microsecond=0)
    out(beat, now)
    for n in range(20):
        ReadingFactory(gauge=gauge, at=now - (20 - n) * 15 * MINUTE, level_m=0.6)
    called = {}
    for n in range(1, 5):
        at = now + n * 15 * MINUTE
        ReadingFactory(gauge=gauge, at=at, level_m=0.6 + 0.25 * n)
        look_at_water(now=at + MINUTE)
        called[n * 15] = list(Recall.objects.filter(ended_at=None).values_list("cause", flat=True))
    assert called == {15: [], 30: ["rise"], 45: ["rise"], 60: ["rise"]}


def test_a_misread_value_recalls_nobody_and_silence_ends_no_recall(gauge, beat, ghillie):
    now = timezone.now().replace(microsecond=0)
    out(beat, now)
    read(gauge, [*FLAT, 1.35], last=now)
    assert look_at_water(now=now) == 0
    read(gauge, [*FLAT, 0.8, 1.0], last=now)
    assert look_at_water(now=now) == 1
    assert look_at_water(now=now + dt.timedelta(hours=30)) == 0
    assert Recall.objects.get().ended_at is None


def test_a_policy_without_a_rise_recalls_on_no_onset(gauge, beat, ghillie):
    beat.watch_policy = {"recall_rise_m_per_h": None}
    beat.save()
    now = timezone.now()
    out(beat, now)
    read(gauge, [*FLAT, 0.8, 1.0], last=now)
    assert look_at_water(now=now) == 0


def test_an_onset_calls_below_the_mark_and_an_unconfirmed_step_changes_nothing():
    class Found:
        def __init__(self, rising, rate):
            self.rising, self.rise_m_per_h = rising, rate

    marks = Marks(None, 2.0, 0.1)
    assert rise_calls(Found(True, 0.3), marks, standing=False)
    assert rise_calls(Found(True, None), marks, standing=True)
    assert [rise_calls(Found(None, None), marks, standing=stood) for stood in (True, False)] == [True, False]
    assert not rise_calls(Found(False, 0.9), marks, standing=True)
    assert gauge_calls([], Found(True, 0.3), marks, standing=()) == {"rise"}
