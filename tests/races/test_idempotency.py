"""One Idempotency-Key used by several calls at the same moment: one acts, the others get its answer."""

import datetime as dt
import threading

import pytest
from django.utils import timezone

from beats.models import IdempotencyRecord
from sessions.api import outings as views
from sessions.models import Outing, PhoneNote
from sessions.services.by_phone import Said, back_by_phone
from sessions.services.outings import check_in
from tests.factories import BeatFactory, OutingFactory, client_of, guest_with_account, keeper
from tests.races.together import at_once

pytestmark = [pytest.mark.races, pytest.mark.django_db(transaction=True)]
KEY = "0d1b4f5e-93b5-4f7d-9a0e-0f6c0b3d7a55"
HOUR = dt.timedelta(hours=1)


@pytest.fixture
def out():
    beat = BeatFactory()
    owner = keeper(beat.fishery)
    now = timezone.now()
    outing = OutingFactory(
        beat=beat, guest=guest_with_account(beat.fishery), checked_in_at=now - HOUR, due_back_at=now + HOUR
    )
    return owner, outing


def more_time(owner, outing, key=KEY):
    client = client_of(owner)
    client.raise_request_exception = False  # it would show every thread the exception of one
    return client.post(
        f"/api/v1/outings/{outing.pk}/more-time/", {"minutes": 30}, format="json", headers={"Idempotency-Key": key}
    )


def test_of_many_calls_with_one_key_one_acts(out):
    owner, outing = out
    answers = at_once([lambda: more_time(owner, outing)] * 8)
    assert {answer.status_code for answer in answers} == {200}
    assert len({answer.content for answer in answers}) == 1
    assert Outing.objects.get().alarm_at - outing.alarm_at == dt.timedelta(minutes=30)
    assert IdempotencyRecord.objects.count() == 1


def test_the_second_waits_for_one_that_is_under_way_and_acts_if_that_one_fails(out, monkeypatch):
    """The first has acted and breaks before it commits: the second, which waited, does the work."""
    owner, outing = out
    first_is_in, real, calls = threading.Event(), views.extend_by, []

    def slow_then_broken(*args, **facts):
        calls.append(1)
        done = real(*args, **facts)
        if len(calls) == 1:
            first_is_in.set()
            threading.Event().wait(0.5)
            raise RuntimeError("the process is killed here")
        return done

    monkeypatch.setattr(views, "extend_by", slow_then_broken)

    def second():
        first_is_in.wait(10)
        return more_time(owner, outing)

    broken, answer = at_once([lambda: more_time(owner, outing), second])
    assert (broken.status_code, answer.status_code, len(calls)) == (500, 200, 2)
    assert Outing.objects.get().alarm_at - outing.alarm_at == dt.timedelta(minutes=30)


def test_a_late_check_out_and_a_late_check_in_from_two_phones_leave_the_afternoon_watched(out):
    _, morning = out
    guest, now = morning.guest, timezone.now()
    guest.fishery.beats.update(longest_outing_minutes=600)

    def checks_out():
        return back_by_phone(guest, Said("phone one", None, 1800.0), by=guest.user, now=now)

    def checks_in():
        return check_in(
            guest, beat=morning.beat, pool=None, alone=True, due_back_at=now + HOUR, by=guest.user, now=now,
            said_at=now - dt.timedelta(minutes=20),
        )  # fmt: skip

    answers = at_once([checks_out, checks_in])
    assert not [answer for answer in answers if isinstance(answer, Exception)]
    morning.refresh_from_db()
    assert morning.checked_out_at == now - dt.timedelta(minutes=30)
    afternoon = Outing.objects.exclude(pk=morning.pk).get()
    assert (afternoon.checked_out_at, afternoon.checked_in_at) == (None, now - dt.timedelta(minutes=20))
    assert PhoneNote.objects.count() == 2
