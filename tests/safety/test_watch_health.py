"""Is anybody watching? Asked apart from the watch itself."""

import datetime as dt

import pytest

from safety.models import Delivery
from safety.queries import watch_health
from safety.services.sweep import beat_pulse, sweep
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


@pytest.mark.parametrize("state", ["waiting", "sending", "given_up"])
def test_a_message_that_has_not_left_in_five_minutes_is_a_fault(state):
    DeliveryFactory(state=state)
    sweep(now=NOON + 5 * MINUTE)
    assert faults(NOON + 5 * MINUTE) == ()
    assert faults(NOON + 5 * MINUTE + SECOND) == ("1 message has not left. Tell the keepers by telephone.",)
    DeliveryFactory(state=state)
    assert faults(NOON + 5 * MINUTE + SECOND) == ("2 messages have not left. Tell the keepers by telephone.",)


def test_everything_that_is_wrong_is_said_at_once():
    keeper(BeatFactory().fishery)
    OutingFactory()
    DeliveryFactory()
    assert len(faults(DUE + dt.timedelta(days=3))) == 3
