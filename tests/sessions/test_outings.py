"""Check in, change the time back, check out."""

import datetime as dt

import pytest
from django.http import Http404

from beats.models import AuditEntry
from beats.shared.once import Once
from beats.shared.refusals import KeyReused
from sessions.deadlines import BadDueBack
from sessions.models import Outing
from sessions.services.outings import AlreadyBack, AlreadyOut, check_in, check_out, extend
from tests.factories import NOON, BeatFactory, OutingFactory, PoolFactory, guest_with_account, keeper

pytestmark = pytest.mark.django_db

HOUR = dt.timedelta(hours=1)


@pytest.fixture
def beat():
    return BeatFactory(longest_outing_minutes=600, grace_minutes=20, lone_grace_minutes=5)


@pytest.fixture
def guest(beat):
    return guest_with_account(beat.fishery)


def go_out(guest, beat, **asked):
    facts = {"pool": None, "alone": True, "due_back_at": NOON + 4 * HOUR, "by": guest.user, "now": NOON}
    return check_in(guest, beat=beat, **(facts | asked))


@pytest.mark.parametrize(("alone", "grace"), [(True, 5), (False, 20)])
def test_a_check_in_keeps_when_the_alarm_would_come(guest, beat, alone, grace):
    outing, made = go_out(guest, beat, alone=alone, plan="Twin pools, then home")
    assert made
    outing.refresh_from_db()
    assert (outing.checked_in_at, outing.due_back_at) == (NOON, NOON + 4 * HOUR)
    assert outing.alarm_at == NOON + 4 * HOUR + dt.timedelta(minutes=grace)
    assert (outing.deadline_number, outing.checked_out_at, outing.plan) == (1, None, "Twin pools, then home")


def test_a_grace_changed_later_does_not_move_what_the_angler_was_told(guest, beat):
    outing, _ = go_out(guest, beat)
    type(beat).objects.update(lone_grace_minutes=60)
    outing.refresh_from_db()
    assert outing.alarm_at == NOON + 4 * HOUR + dt.timedelta(minutes=5)


@pytest.mark.parametrize("hours", [-1, 0, 10.01])
def test_a_time_nobody_can_keep_is_refused_and_nobody_is_out(guest, beat, hours):
    with pytest.raises(BadDueBack):
        go_out(guest, beat, due_back_at=NOON + hours * HOUR)
    assert (Outing.objects.count(), AuditEntry.objects.count()) == (0, 0)


def test_whoever_is_out_cannot_go_out_again_before_coming_back(guest, beat):
    outing, _ = go_out(guest, beat)
    with pytest.raises(AlreadyOut, match="already checked in"):
        go_out(guest, beat, now=NOON + HOUR)
    check_out(outing, by=guest.user, now=NOON + HOUR)
    again, made = go_out(guest, beat, now=NOON + HOUR)
    assert (made, again == outing) == (True, False)


def test_the_same_key_returns_the_open_outing(guest, beat):
    once = Once.of("key-of-a-phone", {"plan": "home"})
    first, _ = go_out(guest, beat, once=once)
    assert go_out(guest, beat, once=once, now=NOON + HOUR) == (first, False)
    with pytest.raises(KeyReused):
        go_out(guest, beat, once=Once.of("key-of-a-phone", {"plan": "away"}))


def test_a_retry_that_comes_hours_late_still_gets_its_outing(guest, beat):
    """A phone without signal sends the same check-in again after the time back has passed."""
    once = Once.of("key-of-a-phone", {})
    first, _ = go_out(guest, beat, once=once)
    assert go_out(guest, beat, once=once, now=NOON + 6 * HOUR) == (first, False)


def test_the_pool_must_be_of_the_beat_and_the_beat_of_the_guest_s_fishery(guest, beat):
    with pytest.raises(Http404):
        go_out(guest, beat, pool=PoolFactory(beat__fishery=beat.fishery))
    with pytest.raises(Http404):
        go_out(guest, BeatFactory())
    outing, _ = go_out(guest, beat, pool=PoolFactory(beat=beat))
    assert outing.pool.beat == beat


def test_a_new_time_back_is_a_new_deadline_with_a_new_number(guest, beat):
    outing, _ = go_out(guest, beat, alone=False)
    changed = extend(outing, due_back_at=NOON + 6 * HOUR, by=guest.user, now=NOON + HOUR)
    assert (changed.deadline_number, changed.due_back_at) == (2, NOON + 6 * HOUR)
    assert changed.alarm_at == NOON + 6 * HOUR + dt.timedelta(minutes=20)
    sooner = extend(outing, due_back_at=NOON + 3 * HOUR, by=guest.user, now=NOON + 2 * HOUR)
    assert (sooner.deadline_number, sooner.due_back_at) == (3, NOON + 3 * HOUR)


def test_the_same_time_back_again_changes_nothing(guest, beat):
    outing, _ = go_out(guest, beat)
    same = extend(outing, due_back_at=NOON + 4 * HOUR, by=guest.user, now=NOON + 5 * HOUR)
    assert (same.deadline_number, same.alarm_at) == (1, outing.alarm_at)
    assert AuditEntry.objects.filter(verb="change time back").count() == 0


def test_the_longest_outing_counts_from_check_in_however_often_it_is_changed(guest, beat):
    outing, _ = go_out(guest, beat)
    with pytest.raises(BadDueBack, match="10 hours at most"):
        extend(outing, due_back_at=NOON + 11 * HOUR, by=guest.user, now=NOON + 3 * HOUR)
    assert Outing.objects.get().deadline_number == 1


def test_whoever_is_back_has_no_time_back_to_change(guest, beat):
    outing, _ = go_out(guest, beat)
    check_out(outing, by=guest.user, now=NOON + HOUR)
    with pytest.raises(AlreadyBack):
        extend(outing, due_back_at=NOON + 6 * HOUR, by=guest.user, now=NOON + HOUR)


def test_a_second_check_out_keeps_the_first_time(guest, beat):
    outing, _ = go_out(guest, beat)
    check_out(outing, by=guest.user, now=NOON + HOUR)
    assert check_out(outing, by=guest.user, now=NOON + 2 * HOUR).checked_out_at == NOON + HOUR
    assert AuditEntry.objects.filter(verb="check out").count() == 1


@pytest.mark.parametrize("role", ["owner", "ghillie"])
def test_a_keeper_may_check_a_guest_in_and_out(guest, beat, role):
    by = keeper(beat.fishery, role)
    outing, _ = go_out(guest, beat, by=by)
    assert check_out(outing, by=by, now=NOON + HOUR).checked_out_at == NOON + HOUR
    assert set(AuditEntry.objects.values_list("by", flat=True)) == {by.pk}


def test_to_another_guest_or_another_water_s_owner_the_outing_is_not_there(guest, beat):
    outing = OutingFactory(beat=beat, guest=guest)
    for stranger in (guest_with_account(beat.fishery).user, keeper(BeatFactory().fishery)):
        for deed in (
            lambda by: check_out(outing, by=by, now=NOON),
            lambda by: extend(outing, due_back_at=NOON + HOUR, by=by, now=NOON),
            lambda by: go_out(guest, beat, by=by),
        ):
            with pytest.raises(Http404):
                deed(stranger)
    assert Outing.objects.values_list("checked_out_at", "deadline_number").get() == (None, 1)
