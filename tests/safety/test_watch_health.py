"""Is anybody watching? Asked apart from the watch itself."""

import datetime as dt

import pytest

from safety.models import Delivery
from safety.queries import watch_health
from safety.services.sweep import beat_pulse, sweep
from sessions.models import Outing
from tests.factories import NOON, BeatFactory, DeliveryFactory, OutingFactory, keeper

pytestmark = pytest.mark.django_db

SECOND = dt.timedelta(seconds=1)
MINUTE = 60 * SECOND
DUE = NOON + dt.timedelta(hours=4)


def faults(now):
    return watch_health(now=now).faults


def test_a_watch_that_never_swept_is_a_fault():
    assert faults(NOON) == (
        "The watch has not swept yet. Nobody is being watched: ring round, and restart it.",
    )  # fmt: skip


def test_a_sweep_counts_for_a_minute():
    sweep(now=NOON)
    assert faults(NOON + MINUTE) == ()
    (fault,) = faults(NOON + MINUTE + SECOND)
    assert fault.startswith("The watch has not swept since 11:00")
    assert watch_health(now=NOON + MINUTE + SECOND).swept_at == NOON


def test_an_overdue_outing_without_an_alarm_is_counted_after_a_minute():
    OutingFactory.create_batch(2)
    beat_pulse("sweep", now=DUE + MINUTE)  # it says that it is alive, yet did not look
    assert faults(DUE + MINUTE) == ()
    assert faults(DUE + MINUTE + SECOND) == (
        "2 overdue without an alarm. Ring them, and look at the watch's log.",
    )  # fmt: skip


def test_with_its_alarm_or_back_nobody_is_missing():
    OutingFactory(checked_out_at=DUE + MINUTE)
    OutingFactory()
    sweep(now=DUE + 5 * MINUTE)
    Delivery.objects.update(state="sent")
    assert faults(DUE + 5 * MINUTE) == ()


def test_an_alarm_of_the_old_deadline_does_not_cover_the_new_one():
    outing = OutingFactory()
    sweep(now=DUE)
    Delivery.objects.update(state="sent")
    type(outing).objects.update(deadline_number=2, due_back_at=DUE + MINUTE, alarm_at=DUE + MINUTE)
    beat_pulse("sweep", now=DUE + 3 * MINUTE)
    assert faults(DUE + 3 * MINUTE) == (
        "1 overdue without an alarm. Ring them, and look at the watch's log.",
    )  # fmt: skip


@pytest.mark.parametrize("state", ["waiting", "sending"])
def test_an_alarm_s_message_that_no_sender_takes_for_two_minutes_is_a_fault(state):
    DeliveryFactory(state=state)
    beat_pulse("sweep", "deliver", now=NOON + 2 * MINUTE)
    assert faults(NOON + 2 * MINUTE) == ()
    assert faults(NOON + 2 * MINUTE + SECOND) == ("1 message has not left. Tell the keepers by telephone.",)
    DeliveryFactory(state=state)
    assert faults(NOON + 2 * MINUTE + SECOND) == ("2 messages have not left. Tell the keepers by telephone.",)


def test_all_clears_and_drills_may_wait_for_a_slow_channel_but_not_for_a_sender_that_has_stopped():
    DeliveryFactory(about="all_clear", priority=2)
    beat_pulse("sweep", "deliver", now=NOON + 4 * MINUTE)
    assert faults(NOON + 4 * MINUTE) == ()
    beat_pulse("sweep", now=NOON + 6 * MINUTE)
    assert faults(NOON + 6 * MINUTE) == ("1 message has not left. Tell the keepers by telephone.",)


# --- This address, or the channel? -------------------------------------------------------------


def failed(kind, *, channel="text", state="given_up", at=NOON, **facts):
    facts = {"recipient": f"+4477009000{Delivery.objects.count():02}"} | facts
    return DeliveryFactory(channel=channel, state=state, fault_kind=kind, failed_at=at, **facts)


def channel_faults_at(now):
    beat_pulse("sweep", "deliver", now=now)
    Outing.objects.update(due_back_at=now, alarm_at=now + MINUTE)
    return faults(now)


@pytest.mark.parametrize("kind", ["address", "server"])
def test_one_address_that_fails_is_never_a_fault_of_the_watch(kind):
    for turn in range(12):
        failed(kind, recipient="+447700900199", turn=turn)
    assert channel_faults_at(NOON + 10 * MINUTE) == ()
    assert watch_health(now=NOON + 10 * MINUTE).undelivered == 12


def test_a_server_that_cannot_be_reached_is_a_fault_after_five_minutes_and_until_something_leaves():
    failed("channel", state="waiting", attempts=3, next_try_at=NOON + 20 * MINUTE)
    assert channel_faults_at(NOON + 5 * MINUTE) == ()
    assert channel_faults_at(NOON + 5 * MINUTE + SECOND)[0].startswith("Nothing has left by text since")
    Delivery.objects.update(state="given_up")
    later = NOON + 3 * 24 * 60 * MINUTE
    assert channel_faults_at(later)[0].startswith("Nothing has left by text since")
    DeliveryFactory(channel="email", state="sent", sent_at=later)
    assert len(channel_faults_at(later)) == 1, "another channel proves nothing"
    DeliveryFactory(channel="text", state="sent", sent_at=later)
    assert channel_faults_at(later) == ()


@pytest.mark.parametrize(("kind", "addresses"), [("server", 2), ("address", 3)])
def test_several_addresses_that_fail_with_none_accepted_since_are_a_fault_of_the_channel(kind, addresses):
    for _ in range(addresses - 1):
        failed(kind)
    assert channel_faults_at(NOON + 6 * MINUTE) == ()
    failed(kind)
    assert len(channel_faults_at(NOON + 6 * MINUTE)) == 1
    Delivery.objects.update(failed_at=NOON)
    DeliveryFactory(channel="text", state="sent", sent_at=NOON + SECOND)
    assert channel_faults_at(NOON + 6 * MINUTE) == ()


def test_bad_addresses_hours_apart_are_not_the_channel():
    for hours in range(5):
        failed("address", at=NOON + 2 * hours * 60 * MINUTE)
    assert channel_faults_at(NOON + 600 * MINUTE) == ()


def test_what_a_keeper_closed_is_no_fault_any_more():
    failed("channel", closed_at=NOON, closing="acknowledged")
    assert channel_faults_at(NOON + 6 * MINUTE) == ()
    assert watch_health(now=NOON + 6 * MINUTE).undelivered == 0


def test_everything_that_is_wrong_is_said_at_once():
    keeper(BeatFactory().fishery)
    OutingFactory()
    DeliveryFactory()
    assert len(faults(DUE + dt.timedelta(days=3))) == 3
