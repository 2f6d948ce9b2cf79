"""Two check-ins, two sweeps, a check-out against the sweep: the same rows, at the same moment."""

import datetime as dt
from functools import partial

import pytest
from django.core import mail

from beats.models import AuditEntry
from beats.shared.once import Once
from safety.models import Alarm, Delivery
from safety.services.deliver import deliver
from safety.services.pulse import beat_pulse
from safety.services.sweep import sweep
from sessions.models import Outing
from sessions.services.outings import check_in, check_out, extend
from tests.factories import NOON, GuestFactory, OutingFactory, keeper
from tests.races.together import at_once, kinds

pytestmark = [pytest.mark.races, pytest.mark.django_db(transaction=True)]

EVENING = NOON + dt.timedelta(hours=5)
HOUR = dt.timedelta(hours=1)


def going_out(beat, by, guest, **asked):
    beat_pulse("sweep", now=NOON)  # nobody goes out alone while the watch is not running
    facts = {"beat": beat, "pool": None, "alone": True, "due_back_at": NOON + HOUR, "by": by, "now": NOON}
    return partial(check_in, guest, **(facts | asked))


def test_two_check_ins_of_one_guest_make_one_outing(beat, owner):
    guest = GuestFactory(fishery=beat.fishery)
    answers = at_once([going_out(beat, owner, guest)] * 6)
    assert kinds(answers) == [*["AlreadyOut"] * 5, "tuple"]
    assert Outing.objects.count() == 1


def test_one_key_from_eight_threads_makes_one_outing_and_all_get_it(beat, owner):
    once = Once.of("one-key-for-all", {})
    answers = at_once([going_out(beat, owner, GuestFactory(fishery=beat.fishery), once=once)] * 8)
    assert kinds(answers) == ["tuple"] * 8
    assert {outing.pk for outing, _ in answers} == {Outing.objects.get().pk}


def test_four_sweeps_over_twenty_overdue_raise_each_alarm_once(beat, owner):
    keeper(beat.fishery, "ghillie")
    OutingFactory.create_batch(20, beat=beat)
    answers = at_once([partial(sweep, now=EVENING)] * 4)
    assert [(swept.cleared, swept.failed) for swept in answers] == [(0, 0)] * 4
    assert sum(swept.raised for swept in answers) == 20
    assert set(Alarm.objects.values_list("outing", flat=True)) == set(Outing.objects.values_list("id", flat=True))
    assert (Alarm.objects.count(), Delivery.objects.count()) == (20, 60)


def test_four_senders_send_each_message_once(beat, owner):
    OutingFactory.create_batch(10, beat=beat)
    sweep(now=EVENING)
    answers = at_once([partial(deliver, clock=lambda: EVENING)] * 4)
    assert sum(round_.sent for round_ in answers) == 20
    assert set(Delivery.objects.values_list("state", "attempts")) == {("sent", 1)}
    told = sorted(message.extra_headers["Message-ID"] for message in mail.outbox)
    assert told == sorted(
        f"<{pk}@rodtally>" for pk in Delivery.objects.filter(channel="email").values_list("id", flat=True)
    )


@pytest.mark.parametrize("attempt", range(8))
def test_a_check_out_beside_the_sweep_leaves_no_alarm_standing(beat, owner, attempt):
    outing = OutingFactory(beat=beat)
    back = partial(check_out, outing, by=owner, now=EVENING)
    at_once([back, partial(sweep, now=EVENING)] if attempt % 2 else [partial(sweep, now=EVENING), back])
    sweep(now=EVENING + HOUR)
    raised = Alarm.objects.count()
    assert Alarm.objects.filter(cleared_at__isnull=True).count() == 0
    assert Delivery.objects.filter(about="overdue").count() == 2 * raised
    assert Delivery.objects.filter(about="all_clear").count() == 2 * raised


@pytest.mark.parametrize("attempt", range(8))
def test_a_new_time_back_beside_the_sweep_leaves_no_alarm_standing(beat, owner, attempt):
    outing = OutingFactory(beat=beat)
    later = partial(extend, outing, due_back_at=EVENING + 2 * HOUR, by=owner, now=EVENING)
    answers = at_once([later, partial(sweep, now=EVENING)])
    assert (answers[0].deadline_number, answers[1].failed) == (2, 0)
    sweep(now=EVENING + HOUR)
    assert Alarm.objects.filter(cleared_at__isnull=True).count() == 0
    assert set(Alarm.objects.values_list("deadline_number", flat=True)) <= {1}


def test_a_check_out_from_four_sides_is_noted_once(beat, owner):
    outing = OutingFactory(beat=beat)
    answers = at_once([partial(check_out, outing, by=owner, now=NOON + n * HOUR) for n in (1, 2, 3)])
    assert {answer.checked_out_at for answer in answers} == {Outing.objects.get().checked_out_at}
    assert AuditEntry.objects.filter(verb="check out").count() == 1
