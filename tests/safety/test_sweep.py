"""The sweep: every missed deadline is noted once, with its messages, however often it is asked."""

import datetime as dt

import pytest

from beats.models import AuditEntry
from safety.models import Alarm, Delivery, Pulse
from safety.services import sweep as sweeping
from safety.services.sweep import Swept, clear_alarm, raise_alarm, sweep
from sessions.services.outings import check_out, extend
from tests.factories import NOON, BeatFactory, OutingFactory, UserFactory, guest_with_account, keeper

pytestmark = pytest.mark.django_db

HOUR = dt.timedelta(hours=1)
DUE = NOON + 4 * HOUR
TINY = dt.timedelta(microseconds=1)


def written(**asked):
    """Who is told what by which channel, in order."""
    found = Delivery.objects.filter(**asked).order_by("alarm", "about", "channel", "recipient")
    return list(found.values_list("about", "channel", "recipient"))


def test_nothing_before_the_alarm_time_and_the_alarm_at_it(beat):
    outing = OutingFactory(beat=beat, alarm_at=DUE + HOUR)
    assert sweep(now=DUE + HOUR - TINY) == Swept(0, 0, 0)
    assert sweep(now=DUE + HOUR) == Swept(1, 0, 0)
    alarm = Alarm.objects.get()
    assert (alarm.outing, alarm.deadline_number, alarm.due_back_at, alarm.raised_at) == (
        outing,
        1,
        DUE,
        DUE + HOUR,
    )


def test_an_alarm_is_raised_once_however_many_sweeps_follow(beat, owner):
    OutingFactory(beat=beat)
    assert [sweep(now=DUE + n * HOUR).raised for n in range(4)] == [1, 0, 0, 0]
    assert (Alarm.objects.count(), Delivery.objects.count()) == (1, 2)
    assert AuditEntry.objects.filter(verb="raise alarm").count() == 1


def test_every_keeper_of_the_water_is_told_and_nobody_else(beat, owner):
    ghillie = keeper(beat.fishery, "ghillie")
    guest_with_account(beat.fishery)
    keeper(BeatFactory().fishery)
    gone = keeper(beat.fishery)
    gone.is_active = False
    gone.save()
    UserFactory()
    OutingFactory(beat=beat)
    sweep(now=DUE)
    assert written() == [
        *sorted(("overdue", "email", user.email) for user in (owner, ghillie)),
        ("overdue", "log", beat.fishery.slug),
    ]


def test_a_water_without_keepers_still_writes_to_the_log(beat):
    OutingFactory(beat=beat)
    sweep(now=DUE)
    assert written() == [("overdue", "log", beat.fishery.slug)]


def test_whoever_came_back_in_time_raises_nothing(beat, owner):
    check_out(OutingFactory(beat=beat), by=owner, now=DUE - TINY)
    assert sweep(now=DUE) == Swept(0, 0, 0)


def test_an_alarm_and_its_messages_are_one_or_nothing(beat, owner, monkeypatch):
    lost, *others = OutingFactory.create_batch(3, beat=beat)
    write = sweeping._write

    def failing(alarm, *words, **when):
        if alarm.outing_id == lost.pk:
            raise OSError("the table is full")
        return write(alarm, *words, **when)

    monkeypatch.setattr(sweeping, "_write", failing)
    assert sweep(now=DUE) == Swept(2, 0, 1)
    assert set(Alarm.objects.values_list("outing", flat=True)) == {outing.pk for outing in others}
    assert Delivery.objects.count() == 4
    assert not Pulse.objects.exists()  # a sweep with a fault does not count as a sweep


def test_a_row_that_failed_is_tried_again(beat, owner, monkeypatch):
    OutingFactory(beat=beat)
    with monkeypatch.context() as broken:
        broken.setattr(sweeping, "_write", lambda *_, **__: 1 / 0)
        assert sweep(now=DUE) == Swept(0, 0, 1)
    assert sweep(now=DUE + HOUR) == Swept(1, 0, 0)
    assert Alarm.objects.get().raised_at == DUE + HOUR


def test_after_three_days_of_outage_the_first_sweep_raises_all_that_is_due(beat, owner):
    OutingFactory.create_batch(5, beat=beat)
    back = OutingFactory(beat=beat)
    check_out(back, by=owner, now=DUE + HOUR)
    assert sweep(now=DUE + dt.timedelta(days=3)) == Swept(5, 0, 0)
    assert not Alarm.objects.filter(outing=back).exists()


def test_a_new_time_before_the_alarm_leaves_the_old_deadline_silent(beat, owner):
    extend(OutingFactory(beat=beat), due_back_at=DUE + HOUR, by=owner, now=DUE - TINY)
    assert sweep(now=DUE) == Swept(0, 0, 0)
    assert sweep(now=DUE + HOUR) == Swept(1, 0, 0)
    assert Alarm.objects.get().deadline_number == 2


def test_a_new_time_after_the_alarm_is_told_and_watched_anew(beat, owner):
    outing = OutingFactory(beat=beat, guest__name="Una Teal", beat__name="Upper")
    sweep(now=DUE)
    extend(outing, due_back_at=DUE + HOUR, by=owner, now=DUE + TINY)
    assert sweep(now=DUE + TINY) == Swept(0, 1, 0)
    news = Delivery.objects.filter(about="all_clear", channel="email").get()
    assert (news.recipient, news.subject) == (
        owner.email,
        f"Heard from: Una Teal, {outing.beat.name}, still on the water",
    )
    assert sweep(now=DUE + HOUR) == Swept(1, 0, 0)
    assert list(Alarm.objects.order_by("id").values_list("deadline_number", "cleared_at")) == [
        (1, DUE + TINY), (2, None),
    ]  # fmt: skip


def test_nothing_reassuring_is_said_while_the_new_time_has_passed_too(beat, owner):
    """No sweep ran between the new time and its passing: only the second alarm goes out."""
    outing = OutingFactory(beat=beat)
    sweep(now=DUE)
    extend(outing, due_back_at=DUE + HOUR, by=owner, now=DUE + TINY)
    assert sweep(now=DUE + 2 * HOUR) == Swept(1, 0, 0)
    assert not Delivery.objects.filter(about="all_clear").exists()
    check_out(outing, by=owner, now=DUE + 3 * HOUR)
    assert sweep(now=DUE + 3 * HOUR) == Swept(0, 2, 0)


def test_a_plan_cannot_pass_for_a_line_of_the_alarm(beat):
    OutingFactory(beat=beat, plan="up the run\nPosition: 0, 0 (latitude, longitude)")
    sweep(now=DUE)
    body = Delivery.objects.get().body
    assert "\nPlan: up the run Position: 0, 0 (latitude, longitude)\n" in body
    assert body.count("\nPosition: ") == 1


def test_a_check_out_after_the_alarm_is_told_to_everybody_who_was_told(beat, owner):
    keeper(beat.fishery, "ghillie")
    outing = OutingFactory(beat=beat)
    sweep(now=DUE)
    check_out(outing, by=owner, now=DUE + HOUR)
    assert [sweep(now=DUE + HOUR + n * TINY).cleared for n in range(3)] == [1, 0, 0]
    told = [(channel, recipient) for _, channel, recipient in written(about="overdue")]
    assert [(channel, recipient) for _, channel, recipient in written(about="all_clear")] == told
    assert len(told) == 3


def test_whoever_was_told_gets_the_all_clear_even_when_no_longer_a_keeper(beat, owner):
    ghillie = keeper(beat.fishery, "ghillie")
    outing = OutingFactory(beat=beat)
    sweep(now=DUE)
    ghillie.memberships.all().delete()
    check_out(outing, by=owner, now=DUE + HOUR)
    sweep(now=DUE + HOUR)
    assert ("all_clear", "email", ghillie.email) in written(about="all_clear")


def test_the_pulse_is_the_time_of_the_last_whole_sweep_and_never_goes_back():
    for now in (DUE, DUE + HOUR, DUE):
        sweep(now=now)
    assert Pulse.objects.values_list("name", "beaten_at").get() == ("sweep", DUE + HOUR)


def test_what_changed_between_the_looking_and_the_taking_is_seen(beat, owner):
    """A sweep has the outing on its list; before it takes the row, the angler is heard from."""
    back, heard, missing = OutingFactory.create_batch(3, beat=beat)
    check_out(back, by=owner, now=DUE)
    extend(heard, due_back_at=DUE + HOUR, by=owner, now=DUE)
    assert [raise_alarm(outing.pk, now=DUE) for outing in (back, heard, missing)] == [False, False, True]
    assert Alarm.objects.get().outing == missing


def test_an_alarm_that_is_not_over_cannot_be_cleared(beat, owner):
    OutingFactory(beat=beat)
    sweep(now=DUE)
    assert not clear_alarm(Alarm.objects.get().pk, now=DUE + HOUR)
    assert Delivery.objects.filter(about="all_clear").count() == 0
