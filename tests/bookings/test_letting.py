"""Letting rods: the claims a let makes, and who may make it."""

import datetime as dt

import pytest
from django.http import Http404

from beats.models import AuditEntry
from beats.shared.refusals import NotYours
from bookings.models import Let, RodDay
from bookings.services import lets
from bookings.services.lets import let_rods
from tests.factories import NOON, BeatFactory, GuestFactory, RodDayFactory, guest_with_account, keeper

pytestmark = pytest.mark.django_db

MONDAY, SATURDAY = dt.date(2026, 5, 4), dt.date(2026, 5, 9)
WEEK = [MONDAY + dt.timedelta(days=n) for n in range(6)]


@pytest.fixture
def beat():
    return BeatFactory(rods=4)


def ask(beat, **asked):
    facts = {"first_on": MONDAY, "last_on": SATURDAY, "rods": 2, "now": NOON}
    facts |= {"booker": GuestFactory(fishery=beat.fishery), "by": keeper(beat.fishery)}
    return let_rods(beat, **(facts | asked))


def claims(let):
    return list(let.rod_days.order_by("day", "rod").values_list("day", "rod"))


def test_a_let_claims_one_rod_day_for_each_rod_and_day(beat):
    let, made = ask(beat)
    assert made
    assert claims(let) == [(day, rod) for day in WEEK for rod in (1, 2)]


def test_a_party_keeps_its_rod_numbers_all_week(beat):
    RodDayFactory(let__beat=beat, day=dt.date(2026, 5, 6), rod=1)
    let, _ = ask(beat)
    assert claims(let) == [(day, rod) for day in WEEK for rod in (2, 3)]


def test_rods_change_only_when_no_number_is_free_all_week(beat):
    for rod, day in enumerate(WEEK[:4], start=1):
        RodDayFactory(let__beat=beat, day=day, rod=rod)
    let, _ = ask(beat, rods=1)
    assert claims(let) == [(WEEK[0], 2), *((day, 1) for day in WEEK[1:])]


def test_the_named_guests_fish_the_rods_in_order_and_the_rest_stay_open(beat):
    first, second = GuestFactory.create_batch(2, fishery=beat.fishery)
    let, _ = ask(beat, rods=3, guests=[first, second], last_on=MONDAY)
    found = let.rod_days.order_by("rod").values_list("rod", "guest")
    assert list(found) == [(1, first.pk), (2, second.pk), (3, None)]


def test_a_let_of_one_beat_takes_nothing_from_another(beat):
    ask(beat, rods=4)
    other, _ = ask(BeatFactory(fishery=beat.fishery, rods=4), rods=4)
    assert other.rod_days.count() == 24


def test_the_let_is_in_the_audit_trail(beat):
    owner = keeper(beat.fishery)
    let, _ = ask(beat, by=owner)
    entry = AuditEntry.objects.get()
    assert (entry.verb, entry.subject, entry.by, entry.at) == ("let rods", f"bookings.let:{let.pk}", owner, NOON)
    assert entry.after == {
        "beat": beat.slug, "first_on": "2026-05-04", "last_on": "2026-05-09", "rods": 2, "booker": let.booker_id,
    }  # fmt: skip


def test_without_its_audit_row_there_is_no_let(beat, monkeypatch):
    def full(*_, **__):
        raise OSError("no room for the audit row")

    monkeypatch.setattr(lets, "record", full)
    with pytest.raises(OSError, match="no room"):
        ask(beat)
    assert (Let.objects.count(), RodDay.objects.count(), AuditEntry.objects.count()) == (0, 0, 0)


@pytest.mark.parametrize("role", ["ghillie", "guest"])
def test_only_the_owner_lets(beat, role):
    with pytest.raises(NotYours, match="only the owner may do this"):
        ask(beat, by=keeper(beat.fishery, role))
    assert Let.objects.count() == 0


def test_to_the_owner_of_another_water_the_beat_is_not_there(beat):
    stranger = keeper(BeatFactory().fishery)
    with pytest.raises(Http404):
        ask(beat, by=stranger)


def test_a_guest_of_the_book_who_may_sign_in_still_may_not_let(beat):
    guest = guest_with_account(beat.fishery)
    with pytest.raises(NotYours):
        ask(beat, by=guest.user, booker=guest)
