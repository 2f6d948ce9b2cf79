"""Holds and the doors of a let: each opens one way, once."""

import datetime as dt

import pytest
from django.db import IntegrityError, transaction

from beats.models import AuditEntry
from beats.shared.refusals import NotYours
from bookings.models import Let, LettingPolicy, RefundStep, RodDay
from bookings.services.holds import LetOver, cancel_let, confirm_let, release_lapsed
from bookings.services.lets import RodsTaken
from tests.bookings.book import MONDAY, let
from tests.factories import NOON, BeatFactory, LetFactory, guest_with_account, keeper

pytestmark = pytest.mark.django_db

TWO_DAYS = dt.timedelta(days=2)
LATE = NOON + TWO_DAYS


@pytest.fixture
def beat():
    return BeatFactory(rods=2)


def verbs():
    return list(AuditEntry.objects.order_by("pk").values_list("verb", flat=True))


def test_a_hold_takes_its_rods_and_runs_out_by_the_policy(beat):
    LettingPolicy.objects.create(fishery=beat.fishery, hold_minutes=90)
    held = let(beat, hold=True)
    assert (held.status, held.expires_at, held.confirmed_at) == ("held", NOON + dt.timedelta(minutes=90), None)
    assert held.rod_days.count() == 12
    with pytest.raises(RodsTaken):
        let(beat, rods=1)


def test_without_a_policy_a_hold_lasts_two_days(beat):
    assert let(beat, hold=True).expires_at == LATE


def test_a_hold_is_confirmed_once_and_the_second_hand_changes_nothing(beat):
    held, owner = let(beat, hold=True), keeper(beat.fishery)
    first = confirm_let(held, by=owner, now=NOON + dt.timedelta(hours=1))
    again = confirm_let(held, by=owner, now=NOON + dt.timedelta(hours=2))
    assert (first.status, first.expires_at) == ("confirmed", None)
    assert again.confirmed_at == first.confirmed_at == NOON + dt.timedelta(hours=1)
    assert verbs() == ["hold rods", "confirm let"]


def test_a_hold_that_ran_out_cannot_be_confirmed_though_nobody_swept_it(beat):
    held = let(beat, hold=True)
    with pytest.raises(LetOver, match="ran out at 12:00 on Friday 8 May"):
        confirm_let(held, by=keeper(beat.fishery), now=LATE)
    held.refresh_from_db()
    assert held.status == "held"


def test_the_sweep_ends_what_has_run_out_whole_and_nothing_else(beat):
    gone, kept = let(beat, hold=True, rods=1), let(beat, rods=1)
    assert [release_lapsed(at) for at in (LATE - dt.timedelta(seconds=1), LATE, LATE)] == [0, 1, 0]
    gone.refresh_from_db()
    assert (gone.status, gone.ending, gone.cancelled_at, gone.refund_percent) == (
        "cancelled",
        "ran_out",
        LATE,
        None,
    )
    assert set(RodDay.objects.values_list("let", flat=True)) == {kept.pk}
    assert verbs()[-1] == "hold ran out"


def test_a_hold_half_way_through_its_end_is_not_half_ended(beat, monkeypatch):
    held = let(beat, hold=True)

    def full(*_, **__):
        raise OSError("no room for the audit row")

    monkeypatch.setattr("bookings.services.holds.record", full)
    with pytest.raises(OSError, match="no room"):
        release_lapsed(LATE)
    held.refresh_from_db()
    assert (held.status, held.rod_days.count()) == ("held", 12)


def test_whoever_asks_after_a_hold_ran_out_need_not_wait_for_the_sweep(beat):
    held = let(beat, hold=True)
    assert let(beat, now=LATE).rod_days.count() == 12
    held.refresh_from_db()
    assert (held.status, held.rod_days.count()) == ("cancelled", 0)


def test_a_cancelled_let_stays_cancelled(beat):
    gone, owner = let(beat), keeper(beat.fishery)
    cancel_let(gone, by=owner, now=NOON)
    with pytest.raises(LetOver, match="was cancelled"):
        confirm_let(gone, by=owner, now=NOON)


@pytest.mark.parametrize(("days", "percent"), [(60, 100), (30, 50), (2, 0)])
def test_cancelling_gives_back_by_the_notice_and_keeps_the_percent(beat, days, percent):
    policy = LettingPolicy.objects.create(fishery=beat.fishery)
    RefundStep.objects.create(policy=policy, notice_days=56, percent=100)
    RefundStep.objects.create(policy=policy, notice_days=28, percent=50)
    early = dt.datetime.combine(MONDAY - dt.timedelta(days=days), dt.time(12), dt.UTC)
    gone = cancel_let(let(beat, now=early), by=keeper(beat.fishery), now=early)
    assert (gone.refund_percent, gone.ending) == (percent, "asked")


def test_a_hold_that_is_given_up_has_nothing_to_give_back(beat):
    assert cancel_let(let(beat, hold=True), by=keeper(beat.fishery), now=NOON).refund_percent is None


def test_a_booker_who_was_offered_nothing_may_cancel_a_hold_but_not_confirm_it(beat):
    guest = guest_with_account(beat.fishery)
    held = let(beat, hold=True, booker=guest)
    with pytest.raises(NotYours):
        confirm_let(held, by=guest.user, now=NOON)
    assert cancel_let(held, by=guest.user, now=NOON).status == "cancelled"


@pytest.mark.parametrize("verb", [confirm_let, cancel_let])
def test_another_guest_neither_confirms_nor_cancels(beat, verb):
    held, other = let(beat, hold=True), guest_with_account(beat.fishery)
    with pytest.raises(NotYours):
        verb(held, by=other.user, now=NOON)


@pytest.mark.parametrize(
    "facts",
    [
        {"status": "held", "expires_at": None},
        {"status": "confirmed", "expires_at": NOON},
        {"status": "cancelled"},
        {"refund_percent": 50},
        {"kind": "season"},
        {"weekday": 3},
        {"kind": "season", "weekday": 6},
    ],
)
def test_the_database_refuses_a_let_that_contradicts_itself(facts):
    pk = LetFactory().pk
    with pytest.raises(IntegrityError), transaction.atomic():
        Let.objects.filter(pk=pk).update(**facts)
