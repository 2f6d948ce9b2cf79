"""Rods called off the water: by hand in one action, by the river itself, and counted in."""

import datetime as dt
from itertools import count

import pytest

from beats.models import TideWater
from beats.shared.refusals import NotYours
from beats.water.trend import Reading
from safety.models import Alarm, Delivery, Recall, RecallCall
from safety.queries import board_of
from safety.rising import Marks, level_calls, pools_out, rise_calls
from safety.services.calling import AlreadyRecalled, NotCalled, NotOfThisBeat, answer_recall, call_in, end_recall
from safety.services.conditions import look_at_water
from safety.services.sweep import sweep
from sessions.services.outings import check_out, say_fine
from tests.factories import (
    NOON,
    BeatFactory,
    GaugeFactory,
    OutingFactory,
    PoolFactory,
    ReadingFactory,
    TideWaterFactory,
    guest_with_account,
    keeper,
)

MINUTE = dt.timedelta(minutes=1)
LATE = NOON + dt.timedelta(hours=9)
db = pytest.mark.django_db


NUMBERS = count()


def out(beat, **facts):
    email = f"una{next(NUMBERS)}@example.org"
    return OutingFactory(beat=beat, guest__email=email, due_back_at=LATE, alarm_at=LATE, **facts)


@db
def test_one_action_calls_every_rod_of_the_beat_and_nobody_else(beat, owner):
    called = [out(beat), out(beat, pool=PoolFactory(beat=beat))]
    out(beat, checked_out_at=NOON)
    out(BeatFactory(fishery=beat.fishery))
    recall, made = call_in(beat, reason="the river is rising", by=owner, now=NOON)
    assert made
    assert list(recall.calls.order_by("id").values_list("outing", flat=True)) == [outing.pk for outing in called]
    told = Delivery.objects.filter(about="recall").values_list("outing", "channel")
    assert sorted(told) == [(outing.pk, "email") for outing in called]


@db
def test_a_recall_of_some_pools_calls_those_and_whoever_has_no_pool(beat, owner):
    high, low = PoolFactory.create_batch(2, beat=beat)
    called = [out(beat, pool=high), out(beat)]
    out(beat, pool=low)
    recall, _ = call_in(beat, reason="too high", pools=[high.pk], by=owner, now=NOON)
    assert {call.outing for call in recall.calls.all()} == set(called)
    sweep(now=NOON)
    assert recall.calls.count() == 2


@db
def test_whoever_checks_in_while_it_stands_is_called_too_and_once(beat, owner):
    recall, _ = call_in(beat, reason="too high", by=owner, now=NOON)
    late = out(beat)
    for _ in range(3):
        sweep(now=NOON + MINUTE)
    assert recall.calls.get().outing == late
    end_recall(recall, by=owner, now=NOON + MINUTE)
    out(beat)
    sweep(now=NOON + 2 * MINUTE)
    assert RecallCall.objects.count() == 1


@db
def test_who_does_not_answer_climbs_the_ladder_and_who_does_has_time_to_come_out(beat, owner):
    silent, coming = out(beat), out(beat)
    recall, _ = call_in(beat, reason="too high", by=owner, now=NOON)
    answer_recall(recall, coming, by=owner, now=NOON + 5 * MINUTE)
    assert [sweep(now=NOON + m * MINUTE).raised for m in (14, 15, 16, 49, 50, 51)] == [0, 1, 0, 0, 1, 0]
    raised = Alarm.objects.order_by("id").values_list("outing", "kind", "deadline_number")
    assert list(raised) == [(silent.pk, "recall", 1), (coming.pk, "recall", 2)]


@db
def test_the_board_counts_them_in_and_an_answer_or_a_check_out_clears(beat, owner):
    first, second, third = out(beat), out(beat), out(beat)
    recall, _ = call_in(beat, reason="too high.", by=owner, now=NOON)
    sweep(now=NOON + 15 * MINUTE)
    check_out(first, by=owner, now=NOON + 16 * MINUTE)
    answer_recall(recall, second, by=owner, now=NOON + 16 * MINUTE)
    assert sweep(now=NOON + 16 * MINUTE).cleared == 2
    assert board_of(beat.fishery, now=NOON + 16 * MINUTE).recalls == [
        f"{beat.name} is called off the water: too high. Of 3 called 1 are off the water, 1 coming, 1 silent."
    ]
    assert Alarm.objects.get(cleared_at=None).outing == third


@db
def test_a_second_recall_while_one_stands_and_another_beat_s_pool_are_refused(beat, owner):
    call_in(beat, reason="too high", by=owner, now=NOON)
    with pytest.raises(AlreadyRecalled):
        call_in(beat, reason="again", by=owner, now=NOON)
    with pytest.raises(NotOfThisBeat):
        call_in(beat, reason="there", pools=[PoolFactory().pk], by=owner, now=NOON)
    with pytest.raises(NotYours):
        call_in(beat, reason="mine", by=guest_with_account(beat.fishery).user, now=NOON)


@db
def test_who_was_not_called_or_is_out_has_nothing_to_answer(beat, owner):
    outing = out(beat)
    recall, _ = call_in(beat, reason="too high", by=owner, now=NOON)
    with pytest.raises(NotCalled):
        answer_recall(recall, out(beat), by=owner, now=NOON)
    check_out(outing, by=owner, now=NOON)
    with pytest.raises(NotCalled):
        answer_recall(recall, outing, by=owner, now=NOON)


# --- By the river ---


def levels(*metres):
    return [Reading(NOON + n * 15 * MINUTE, level, trusted=True) for n, level in enumerate(metres)]


def test_a_gauge_that_hovers_at_the_mark_calls_once():
    course = [0.8, 0.99, 1.0, 0.98, 1.01, 0.97, 1.02, 0.95, 0.91, 1.0, 0.89, 0.92, 0.89, 0.88, 0.99, 1.0]
    standing, calls, ends = False, [], []
    for n in range(1, len(course) + 1):
        now = level_calls(levels(*course[:n]), 1.0, 0.1, standing=standing)
        calls += [n] if now and not standing else []
        ends += [n] if standing and not now else []
        standing = now
    assert (calls, ends) == ([3, 16], [14])


def test_a_reading_that_is_not_trusted_calls_nobody_and_no_reading_ends_nothing():
    spike = [*levels(0.8), Reading(NOON + 15 * MINUTE, 4.0, trusted=False)]
    assert not level_calls(spike, 1.0, 0.1, standing=False)
    assert level_calls([], 1.0, 0.1, standing=True)
    assert not level_calls(levels(5.0), None, 0.1, standing=True)


def test_an_unknown_rate_changes_nothing():
    marks = Marks(None, 0.3, 0.1)
    assert [rise_calls(None, marks, standing=standing) for standing in (True, False)] == [True, False]


def test_a_pool_comes_back_only_a_band_below_its_window():
    windows = {1: 0.9, 2: 1.2}
    assert pools_out(0.95, windows, 0.1, standing=set()) == {1}
    assert pools_out(0.85, windows, 0.1, standing={1}) == {1}
    assert pools_out(0.80, windows, 0.1, standing={1}) == set()
    assert pools_out(None, windows, 0.1, standing={1, 9}) == {1}


@db
def test_rising_water_calls_by_itself_and_lets_out_again():
    gauge = GaugeFactory()
    beat = BeatFactory(
        fishery=gauge.fishery, gauge=gauge, watch_policy={"recall_level_m": 1.0, "recall_rise_m_per_h": None}
    )
    keeper(beat.fishery)
    outing = out(beat)
    changed = []
    for n, level in enumerate((0.9, 1.0, 0.95, 0.89, 0.88, 0.88)):
        now = NOON + n * 15 * MINUTE
        ReadingFactory(gauge=gauge, at=now, level_m=level)
        changed.append(look_at_water(now=now))
    assert changed == [0, 1, 0, 0, 1, 0]
    recall = Recall.objects.get()
    assert (recall.cause, recall.reason, recall.calls.get().outing) == (
        "level",
        "the river at Bridge has reached 1 m.",
        outing,
    )


@db
def test_a_fast_rise_calls_and_a_quiet_beat_is_not_looked_at():
    gauge = GaugeFactory()
    beat = BeatFactory(fishery=gauge.fishery, gauge=gauge, watch_policy=None)
    for n in range(6):
        ReadingFactory(gauge=gauge, at=NOON - n * 15 * MINUTE, level_m=1.5 - n * 0.1)
    assert look_at_water(now=NOON) == 0
    out(beat)
    assert look_at_water(now=NOON) == 1
    assert Recall.objects.get().cause == "rise"


@db
def test_a_pool_above_its_window_calls_its_own_rods():
    gauge = GaugeFactory()
    beat = BeatFactory(fishery=gauge.fishery, gauge=gauge)
    high, fine = PoolFactory(beat=beat, level_max_m=0.7), PoolFactory(beat=beat)
    called = out(beat, pool=high)
    out(beat, pool=fine)
    ReadingFactory(gauge=gauge, at=NOON, level_m=0.8)
    assert look_at_water(now=NOON) == 1
    assert Recall.objects.get().calls.get().outing == called


def tidal_beat(**pool):
    """A pool cut off by 3.5 m of a tide between 1.0 and 4.5 m."""
    beat = BeatFactory(tidal=True)
    for hours, height, kind in ((-4.5, 1.0, "low"), (1.5, 4.5, "high"), (7.5, 1.0, "low"), (13.5, 4.5, "high")):
        TideWaterFactory(beat=beat, at=NOON + hours * 60 * MINUTE, height_m=height, kind=kind)
    return beat, PoolFactory(beat=beat, name="Bar", cut_off_above_m=3.5, **pool), PoolFactory(beat=beat)


@db
def test_a_tide_that_closes_a_pool_calls_its_rods_before_and_lets_out_when_it_has_fallen():
    beat, bar, other = tidal_beat()
    called = out(beat, pool=bar)
    out(beat, pool=other)
    # acos(1 - 2 * 2.5 / 3.5) * 6 h / pi is 3 h 50 min 45 s: up past 3.5 m at 11:20:45, down at 15:39:15.
    hours = (-3, -2, -1.4, -1, 1, 3, 3.75)
    assert [look_at_water(now=NOON + n * 60 * MINUTE) for n in hours] == [0, 0, 1, 0, 0, 0, 1]
    recall = Recall.objects.get()
    assert (recall.cause, recall.calls.get().outing) == ("tide", called)
    assert recall.reason == "The tide cuts Bar off from 11:20. Leave it."


@db
def test_a_tide_table_that_runs_out_lets_nobody_out_again():
    beat, bar, _ = tidal_beat()
    out(beat, pool=bar)
    assert look_at_water(now=NOON) == 1
    TideWater.objects.all().delete()
    assert [look_at_water(now=NOON + n * MINUTE) for n in (1, 60, 600)] == [0, 0, 0]
    assert Recall.objects.get().ended_at is None


@db
def test_a_second_pool_is_called_in_under_the_same_recall_and_nobody_is_called_twice():
    gauge = GaugeFactory()
    beat = BeatFactory(fishery=gauge.fishery, gauge=gauge)
    low, high = PoolFactory(beat=beat, level_max_m=0.7), PoolFactory(beat=beat, level_max_m=0.75)
    first, second = out(beat, pool=low), out(beat, pool=high)
    ReadingFactory(gauge=gauge, at=NOON, level_m=0.72)
    ReadingFactory(gauge=gauge, at=NOON + 15 * MINUTE, level_m=0.77)
    assert [look_at_water(now=NOON + n * MINUTE) for n in (0, 5, 15, 20)] == [1, 0, 1, 0]
    calls = Recall.objects.get().calls.order_by("id").values_list("outing", "told_at")
    assert list(calls) == [(first.pk, NOON), (second.pk, NOON + 15 * MINUTE)]


@db
def test_the_end_of_a_recall_is_no_word_of_a_rod_that_was_silent(beat, owner):
    outing = out(beat)
    recall, _ = call_in(beat, reason="too high", by=owner, now=NOON)
    assert sweep(now=NOON + 15 * MINUTE).raised == 1
    end_recall(recall, by=owner, now=NOON + 16 * MINUTE)
    assert sweep(now=NOON + 17 * MINUTE).cleared == 0
    say_fine(outing, by=owner, now=NOON + 18 * MINUTE)
    assert sweep(now=NOON + 18 * MINUTE).cleared == 1
    assert Delivery.objects.filter(about="all_clear", body__contains="heard from since the recall").count() == 2


@db
def test_a_gauge_that_is_silent_calls_nobody():
    gauge = GaugeFactory()
    beat = BeatFactory(fishery=gauge.fishery, gauge=gauge, watch_policy={"recall_level_m": 1.0})
    out(beat)
    assert look_at_water(now=NOON) == 0


@db
def test_dark_coming_calls_where_the_policy_says_so():
    beat = BeatFactory(watch_policy={"recall_dark_minutes": 30})
    out(beat)
    dusk = dt.datetime(2026, 5, 6, 21, 30, tzinfo=dt.UTC)
    found = [look_at_water(now=dusk + hours * dt.timedelta(hours=1)) for hours in (-3, 0)]
    assert found == [0, 1]
    assert Recall.objects.get().cause == "dark"


@db
def test_one_bad_beat_does_not_stop_the_others():
    gauges = GaugeFactory.create_batch(2)
    for gauge in gauges:
        beat = BeatFactory(fishery=gauge.fishery, gauge=gauge, watch_policy={"recall_level_m": 0.5})
        out(beat)
        ReadingFactory(gauge=gauge, at=NOON, level_m=0.8)
    beats_fishery = gauges[0].fishery
    type(beats_fishery).objects.filter(pk=beats_fishery.pk).update(time_zone="Nowhere/At-All")
    assert look_at_water(now=NOON) == 2
    assert RecallCall.objects.get().recall.beat.gauge == gauges[1]
