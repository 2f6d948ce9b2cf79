"""Sending: each message once when all goes well, again and again when it does not."""

import datetime as dt
import uuid

import pytest
from django.core import mail
from django.db import connection

from safety.channels import CHANNELS
from safety.models import Delivery, Pulse
from safety.services.deliver import Delivered, deliver, note_outcome, take
from tests.factories import NOON, AlarmFactory, DeliveryFactory
from tests.servers import free_port

SECOND = dt.timedelta(seconds=1)
LEASE = 60 * SECOND


def at(now):
    return deliver(clock=lambda: now)


@pytest.fixture
def no_mail_server(settings):
    """Real SMTP to a port where nothing listens."""
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", free_port()


@pytest.mark.django_db
def test_each_message_goes_once_to_its_recipient():
    alarm = AlarmFactory()
    for name in ("isla", "callum"):
        DeliveryFactory(alarm=alarm, recipient=f"{name}@example.org", subject=f"To {name}", body="Ring them.")
    assert [at(NOON + n * SECOND) for n in range(3)] == [Delivered(2, 0), Delivered(0, 0), Delivered(0, 0)]
    sent = sorted((message.to, message.subject, message.body) for message in mail.outbox)
    assert sent == [
        (["callum@example.org"], "To callum", "Ring them."), (["isla@example.org"], "To isla", "Ring them."),
    ]  # fmt: skip


@pytest.mark.django_db
def test_what_was_sent_is_noted():
    delivery = DeliveryFactory()
    at(NOON)
    delivery.refresh_from_db()
    assert (delivery.state, delivery.sent_at, delivery.attempts, delivery.last_fault) == ("sent", NOON, 1, "")


@pytest.mark.django_db
def test_nothing_goes_before_its_time():
    DeliveryFactory(next_try_at=NOON + SECOND)
    assert (at(NOON), at(NOON + SECOND)) == (Delivered(0, 0), Delivered(1, 0))


@pytest.mark.django_db
def test_the_message_id_is_the_delivery_s_own_so_that_a_repeat_can_be_seen():
    delivery = DeliveryFactory()
    at(NOON)
    Delivery.objects.update(state="waiting")
    at(NOON + LEASE)
    found = [message.message()["Message-ID"] for message in mail.outbox]
    assert found == [f"<{delivery.pk}@rodtally>"] * 2


@pytest.mark.django_db
def test_the_log_gets_what_it_is_about_by_number_and_no_personal_details(caplog):
    delivery = DeliveryFactory(channel="log", recipient="upper-water", body="+447700900111")
    assert at(NOON) == Delivered(1, 0)
    assert caplog.messages == [f"Overdue [alarm {delivery.alarm_id}]"]


@pytest.mark.django_db
def test_a_failure_waits_longer_each_time_and_is_given_up_after_twelve(no_mail_server):
    delivery = DeliveryFactory()
    now, waits = NOON, []
    for _ in range(11):
        assert at(now) == Delivered(0, 1)
        delivery.refresh_from_db()
        waits.append((delivery.next_try_at - now).total_seconds())
        assert at(delivery.next_try_at - SECOND) == Delivered(0, 0)
        now = delivery.next_try_at
    assert waits == [5, 10, 20, 40, 80, 160, 320, 600, 600, 600, 600]
    assert at(now) == Delivered(0, 1)
    assert at(now + dt.timedelta(days=1)) == Delivered(0, 0)
    delivery.refresh_from_db()
    assert (delivery.state, delivery.attempts) == ("given_up", 12)
    assert delivery.last_fault.startswith("ConnectionRefusedError: ")


@pytest.mark.django_db
def test_one_recipient_who_cannot_be_reached_holds_nobody_else_up(no_mail_server):
    alarm = AlarmFactory()
    DeliveryFactory(alarm=alarm, next_try_at=NOON - SECOND)
    DeliveryFactory(alarm=alarm, channel="log")
    assert at(NOON) == Delivered(1, 1)


@pytest.mark.django_db
def test_a_taken_message_is_left_alone_until_its_lease_runs_out():
    pk = DeliveryFactory().pk
    first = take(pk, now=NOON)
    assert take(pk, now=NOON + LEASE - SECOND) is None
    second = take(pk, now=NOON + LEASE)
    assert (first.attempts, second.attempts) == (1, 2)
    assert first.lease != second.lease


@pytest.mark.django_db
def test_a_sender_that_died_is_followed_by_another():
    take(DeliveryFactory().pk, now=NOON)
    assert at(NOON + LEASE - SECOND) == Delivered(0, 0)
    assert at(NOON + LEASE) == Delivered(1, 0)
    assert len(mail.outbox) == 1


@pytest.mark.django_db
def test_an_outcome_without_the_lease_is_not_noted():
    pk = DeliveryFactory().pk
    slow = take(pk, now=NOON)
    quick = take(pk, now=NOON + LEASE)
    assert not note_outcome(slow, fault="too late", now=NOON + LEASE)
    assert note_outcome(quick, fault=None, now=NOON + LEASE)
    assert not note_outcome(slow, fault="too late", now=NOON + LEASE)
    assert Delivery.objects.values_list("state", "last_fault").get() == ("sent", "")


@pytest.mark.django_db
def test_nobody_can_take_what_is_sent_or_not_there():
    pk = DeliveryFactory().pk
    at(NOON)
    assert take(pk, now=NOON + LEASE) is None
    assert take(uuid.uuid4(), now=NOON) is None


@pytest.mark.django_db(transaction=True)
def test_nothing_is_sent_inside_a_transaction(monkeypatch):
    seen = []
    monkeypatch.setitem(CHANNELS, "log", lambda delivery: seen.append((connection.in_atomic_block, delivery.pk)))
    delivery = DeliveryFactory(channel="log")
    assert at(NOON) == Delivered(1, 0)
    assert seen == [(False, delivery.pk)]


@pytest.mark.django_db
def test_each_round_of_sending_leaves_its_own_pulse():
    at(NOON)
    assert list(Pulse.objects.values_list("name", "beaten_at")) == [("deliver", NOON)]


@pytest.mark.django_db
def test_a_lease_is_counted_from_when_it_was_taken_however_slow_the_channel(monkeypatch):
    DeliveryFactory.create_batch(3, alarm=AlarmFactory(), channel="log")
    leases = []
    monkeypatch.setitem(CHANNELS, "log", lambda delivery: leases.append(delivery.next_try_at))
    clock = iter(NOON + n * 40 * SECOND for n in range(20))
    deliver(clock=lambda: next(clock))
    assert leases == [NOON + n * 40 * SECOND + LEASE for n in (1, 3, 5)]
