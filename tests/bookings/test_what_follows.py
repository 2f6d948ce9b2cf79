"""What follows from each verb of a let: money, letters, calendars and messages, none of them for a hold."""

import datetime as dt
from decimal import Decimal

import pytest

from bookings.models import DiaryDay, HookMessage, LedgerEntry, Paper, Waiting
from bookings.services.changes import change_let, split_let, transfer_let
from bookings.services.forgetting import erase, everything_about
from bookings.services.holds import cancel_let, confirm_let, release_lapsed
from bookings.services.papers import write_papers
from bookings.services.party import Place, name_party
from tests.bookings.book import MONDAY, SATURDAY, let
from tests.factories import NOON, GuestFactory, HookFactory, TariffFactory, WaitingFactory

pytestmark = pytest.mark.django_db
TUESDAY = MONDAY + dt.timedelta(days=1)


@pytest.fixture(autouse=True)
def priced(beat):
    """A hundred a rod-day, eighty by the week, sixty for season rods; and somebody who wants to be told."""
    for kind, price in (("", 100), ("week", 80), ("season", 60)):
        TariffFactory(fishery=beat.fishery, first_on=dt.date(2026, 1, 1), kind=kind, rod_day=Decimal(price))
    return HookFactory(fishery=beat.fishery)


def follows(made):
    """What stands of a let: the sums of its ledger, events told, letters due, days in calendars."""
    write_papers(now=NOON)
    return (
        [int(entry.amount) for entry in LedgerEntry.objects.filter(let=made).order_by("id")],
        [event.removeprefix("let.") for event in _told(made)],
        Paper.objects.filter(let=made).count(),
        DiaryDay.objects.filter(let=made, guest=None, gone_at=None).count(),
    )


def _told(made):
    rows = HookMessage.objects.filter(body__contains=f'"let": {made.pk},').order_by("written_at", "event")
    return rows.values_list("event", flat=True)


def test_a_hold_costs_nothing_and_is_told_to_nobody_until_it_is_confirmed(beat, owner):
    held = let(beat, last_on=MONDAY, hold=True)
    changed = change_let(held, facts={"last_on": TUESDAY}, version=1, by=owner, now=NOON)
    assert follows(changed) == ([], [], 0, 0)
    confirm_let(held, by=owner, now=NOON)
    confirm_let(held, by=owner, now=NOON)
    assert follows(held) == ([400], ["confirmed"], 1, 2)


def test_a_hold_that_is_cancelled_or_runs_out_leaves_nothing_behind(beat, owner):
    gone, lapsed = (let(beat, hold=True, rods=1) for _ in range(2))
    cancel_let(gone, by=owner, now=NOON)
    release_lapsed(lapsed.expires_at)
    assert [follows(each) for each in (gone, lapsed)] == [([], [], 0, 0)] * 2


@pytest.mark.parametrize(
    ("asked", "price"),
    [
        ({}, 1200),
        ({"kind": "week"}, 960),
        ({"kind": "season", "weekday": 3, "last_on": dt.date(2026, 5, 31)}, 360),
    ],
)
def test_a_let_costs_what_its_kind_costs(beat, asked, price):
    assert follows(let(beat, **asked))[0] == [price]


def test_other_days_cost_the_difference_and_are_told(beat, owner):
    made = let(beat, last_on=MONDAY)
    change_let(made, facts={"last_on": TUESDAY}, version=1, by=owner, now=NOON)
    assert follows(made) == ([200, 200], ["changed", "confirmed"], 1, 2)


def test_a_name_is_told_and_costs_nothing_though_prices_rose(beat, owner):
    made, una = let(beat, last_on=MONDAY, rods=1), GuestFactory(fishery=beat.fishery)
    TariffFactory(fishery=beat.fishery, first_on=MONDAY, rod_day=Decimal(150))
    rod = made.rod_days.get().rod
    name_party(made, places=[Place(MONDAY, rod, una)], version=1, by=owner, now=NOON)
    assert follows(made) == ([100], ["changed", "confirmed"], 1, 1)
    assert una.diary.count() == 1


def test_a_let_handed_on_takes_its_price_along(beat, owner):
    made, una = let(beat, last_on=MONDAY, rods=1), GuestFactory(fishery=beat.fishery)
    transfer_let(made, to=una, by=owner, now=NOON)
    rows = LedgerEntry.objects.filter(let=made).order_by("id").values_list("guest", "amount")
    assert list(rows) == [(made.booker_id, 100), (made.booker_id, -100), (una.pk, 100)]


def test_a_let_that_is_split_is_paid_by_both(beat, owner):
    made = let(beat)
    part, _ = split_let(made, booker=GuestFactory(fishery=beat.fishery), from_on=SATURDAY, by=owner, now=NOON)
    assert follows(made) == ([1200, -200], ["changed", "confirmed"], 1, 5)
    assert follows(part) == ([200], ["confirmed"], 1, 1)


def test_a_let_that_was_over_before_it_was_entered_is_not_permitted_by_letter(beat, owner):
    past = let(beat, first_on=dt.date(2026, 4, 6), last_on=dt.date(2026, 4, 7), rods=1)
    write_papers(now=NOON)
    assert list(Paper.objects.filter(let=past).values_list("state", flat=True)) == ["not_needed"]


def test_whoever_waits_is_told_so_and_forgotten_with_the_rest(beat, owner):
    entry = WaitingFactory(guest__fishery=beat.fishery, week=9)
    (told,) = everything_about(entry.guest, by=owner, now=NOON)["waiting"]
    assert (told["week"], told["left_at"]) == (9, None)
    erase(entry.guest, by=owner, now=NOON)
    assert Waiting.objects.get().left_at == NOON
