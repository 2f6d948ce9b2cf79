"""Senders in threads: a slow channel fills its own threads, alarms come first, fisheries take turns."""

import datetime as dt
import threading
import time

import pytest
from django.db import connections
from django.utils import timezone

from safety.channels import CHANNELS
from safety.models import Delivery, Pulse
from safety.services import sender_pool
from safety.services.queueing import due_deliveries, heads, in_order, take, use_next_channel
from safety.services.sender_pool import LANES, Lane, SenderPool
from tests.factories import NOON, AlarmFactory, BeatFactory, DeliveryFactory, FisheryFactory, OutingFactory

SECOND = dt.timedelta(seconds=1)
threaded = pytest.mark.django_db(transaction=True)


def until(ask, seconds=10.0):
    end = time.monotonic() + seconds
    while not ask():
        assert time.monotonic() < end, "not within the time"
        time.sleep(0.02)


@pytest.fixture
def pool():
    """One that is stopped and whose threads have ended, so that the tables may be emptied."""
    pools = []

    def make(**facts):
        pools.append(SenderPool(**facts))
        return pools[-1].start()

    yield make
    for each in pools:
        assert each.stop(within_s=10)
    connections.close_all()


@pytest.fixture
def gate(monkeypatch):
    """E-mail that hangs until it is let go; what began and what left, in order."""
    open_, began, left = threading.Event(), [], []

    def slow(delivery):
        began.append(delivery.pk)
        assert open_.wait(10)
        left.append(delivery.pk)

    monkeypatch.setitem(CHANNELS, "email", slow)
    open_.began, open_.left = began, left
    yield open_
    open_.set()


def waiting(count, **facts):
    now = timezone.now() - 10 * SECOND
    return DeliveryFactory.create_batch(count, written_at=now, next_try_at=now, **facts)


@threaded
def test_a_slow_channel_holds_up_no_other(pool, gate, monkeypatch):
    texts = []
    monkeypatch.setitem(CHANNELS, "text", lambda delivery: texts.append(delivery.pk))
    alarm = AlarmFactory()
    waiting(30, alarm=alarm)
    pool()
    until(lambda: len(gate.began) == 6)
    [text] = waiting(1, alarm=alarm, channel="text", recipient="+447700900123")
    until(lambda: texts == [text.pk], 3)
    assert gate.left == []
    gate.set()
    until(lambda: not Delivery.objects.exclude(state="sent").exists())
    assert len(gate.left) == len(set(gate.began)) == 30


@threaded
@pytest.mark.parametrize("priority", [2, 3])
def test_all_clears_and_drills_never_fill_a_channel(pool, gate, priority):
    waiting(50, alarm=AlarmFactory(), about="all_clear", priority=priority)
    pool()
    until(lambda: len(gate.began) == 3)
    time.sleep(1)
    assert len(gate.began) == 3, "three of six threads are kept for alarms"
    urgent = waiting(2, alarm=AlarmFactory(), priority=0)
    until(lambda: {each.pk for each in urgent} <= set(gate.began), 3)


@threaded
def test_a_thread_that_is_free_again_takes_the_first_alarm_and_not_the_next_drill(pool, gate):
    lane = (Lane("email", 1, 0),)
    waiting(5, alarm=AlarmFactory(), priority=3)
    pool(lanes=lane)
    until(lambda: len(gate.began) == 1)
    [first] = waiting(1, alarm=AlarmFactory(), priority=0)
    time.sleep(2 * sender_pool.POLL_S)  # what is due is read at most so often
    gate.set()
    until(lambda: len(gate.left) == 6)
    assert gate.left.index(first.pk) == 1


@threaded
def test_two_pools_send_each_message_once(pool, monkeypatch):
    sent = []
    monkeypatch.setitem(CHANNELS, "email", lambda delivery: sent.append(delivery.pk))
    waiting(40, alarm=AlarmFactory())
    pool(), pool()
    until(lambda: not Delivery.objects.exclude(state="sent").exists(), 30)
    assert sorted(map(str, sent)) == sorted(map(str, Delivery.objects.values_list("pk", flat=True)))


@threaded
def test_the_lease_of_a_slow_send_is_extended_so_that_nobody_sends_it_again(pool, gate, monkeypatch):
    monkeypatch.setattr(sender_pool, "EXTEND_AFTER_S", 0.3)
    waiting(1, alarm=AlarmFactory())
    pool()
    until(lambda: len(gate.began) == 1)
    before = Delivery.objects.get().next_try_at
    until(lambda: Delivery.objects.get().next_try_at > before, 5)
    gate.set()
    until(lambda: Delivery.objects.get().state == "sent")
    assert len(gate.began) == 1


@threaded
def test_a_send_that_never_ends_is_counted_as_failed_and_frees_its_thread(pool, gate, monkeypatch):
    monkeypatch.setattr(sender_pool, "LONGEST_SEND_S", 0.5)
    waiting(1, alarm=AlarmFactory())
    one = pool(lanes=(Lane("email", 1, 0),))
    until(lambda: Delivery.objects.get().fault_kind == "channel" and one.under_way() == 0)
    assert Delivery.objects.get().state == "waiting"


@threaded
def test_a_pool_says_that_it_is_alive_and_can_be_stopped_and_begun_again(pool):
    one = pool(loop="deliver by watch")
    until(lambda: Pulse.objects.count() == 2)
    assert one.stop()
    one.start()
    waiting(1, alarm=AlarmFactory(), channel="log")
    until(lambda: Delivery.objects.get().state == "sent")


def test_every_channel_has_a_lane_and_keeps_threads_for_alarms():
    assert {lane.channel for lane in LANES} == set(Delivery.Channel.values)
    assert all(lane.reserved for lane in LANES if lane.channel in ("email", "text", "voice"))


# --- The order ---------------------------------------------------------------------------------


@pytest.mark.django_db
def test_classes_leave_in_their_order_and_fisheries_take_turns_within_one():
    many, few = FisheryFactory(), FisheryFactory()
    alarm = AlarmFactory()
    for n in range(3):
        at = NOON - (9 - n) * SECOND
        DeliveryFactory(alarm=alarm, fishery=many, priority=2, recipient=f"many{n}", next_try_at=at)
    DeliveryFactory(alarm=alarm, fishery=few, priority=2, recipient="few0", next_try_at=NOON)
    DeliveryFactory(alarm=alarm, fishery=many, priority=3, recipient="drill", next_try_at=NOON - 99 * SECOND)
    DeliveryFactory(alarm=alarm, fishery=many, priority=0, recipient="first", next_try_at=NOON)
    order = in_order(due_deliveries(NOON)).values_list("recipient", flat=True)
    assert list(order) == ["first", "many0", "few0", "many1", "many2", "drill"]
    assert [head.priority for head in heads(NOON, "email", most=9, lowest_class=1)] == [0]


# --- The next channel --------------------------------------------------------------------------


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("state", "released"), [("waiting", True), ("sending", True), ("given_up", True), ("sent", False)]
)
def test_the_next_channel_is_used_when_no_earlier_one_was_accepted_within_half_a_minute(state, released):
    alarm = AlarmFactory()
    text = {"alarm": alarm, "channel": "text", "person": "user:1", "recipient": "+447700900123"}
    DeliveryFactory(**text, state=state)
    call = DeliveryFactory(**text | {"channel": "voice"}, rank=1, next_try_at=NOON + 90 * SECOND)
    use_next_channel(now=NOON + 29 * SECOND)
    assert take(call.pk, now=NOON + 29 * SECOND) is None
    use_next_channel(now=NOON + 30 * SECOND)
    assert (take(call.pk, now=NOON + 30 * SECOND) is not None) is released


@pytest.mark.django_db
def test_the_same_holds_for_what_has_no_alarm_and_another_person_s_message_proves_nothing():
    outing = OutingFactory(beat=BeatFactory())
    facts = {"alarm": None, "outing": outing, "about": "reminder", "recipient": "+447700900123"}
    DeliveryFactory(**facts, channel="text", person="user:2", state="sent")
    call = DeliveryFactory(**facts, channel="voice", person="user:1", rank=1, next_try_at=NOON + 90 * SECOND)
    assert use_next_channel(now=NOON + 30 * SECOND) == 1
    call.refresh_from_db()
    assert call.next_try_at == NOON + 30 * SECOND
