"""Two hands at one door of a let, and the sweep beside them: one goes through."""

import datetime as dt
from functools import partial

import pytest

from beats.models import AuditEntry
from bookings.models import BeatClosure, Let, Offer, RodDay
from bookings.services.changes import change_let
from bookings.services.closures import close_beat
from bookings.services.holds import cancel_let, confirm_let, release_lapsed
from bookings.services.party import Place, name_party
from bookings.services.seasons import open_season
from bookings.services.sweep import sweep
from bookings.services.waiting import join_waiting
from tests.bookings.book import MONDAY, WEEK, let
from tests.factories import NOON, BeatFactory, GuestFactory, keeper
from tests.races.together import at_once, kinds

pytestmark = [pytest.mark.races, pytest.mark.django_db(transaction=True)]

LATE = NOON + dt.timedelta(days=2)
AUTUMN = dt.datetime(2026, 10, 5, 9, tzinfo=dt.UTC)


@pytest.fixture
def beat():
    return BeatFactory(rods=4)


@pytest.fixture
def owner(beat):
    return keeper(beat.fishery)


def count(verb):
    return AuditEntry.objects.filter(verb=verb).count()


def test_six_hands_press_confirm_and_it_is_confirmed_once(beat, owner):
    held = let(beat, hold=True)
    answers = at_once([partial(confirm_let, held, by=owner, now=NOON + dt.timedelta(minutes=n)) for n in range(6)])
    assert kinds(answers) == ["Let"] * 6
    assert ({each.confirmed_at for each in answers}, count("confirm let")) == ({Let.objects.get().confirmed_at}, 1)


@pytest.mark.parametrize("_attempt", range(4))
def test_confirm_and_cancel_at_once_end_cancelled_or_with_the_second_told(beat, owner, _attempt):
    held = let(beat, hold=True)
    asked = [partial(verb, held, by=owner, now=NOON) for verb in (confirm_let, cancel_let)]
    told = kinds(at_once(asked * 2))
    assert told in [["Let"] * (4 - late) + ["LetOver"] * late for late in range(3)]
    held.refresh_from_db()
    assert (held.status, RodDay.objects.count(), count("cancel let")) == ("cancelled", 0, 1)


def test_six_sweeps_and_a_buyer_meet_at_a_hold_that_ran_out(beat, owner):
    held = let(beat, hold=True, rods=4)
    buy = partial(let, beat, rods=4, now=LATE, by=owner, booker=held.booker)
    at_once([*[partial(release_lapsed, LATE)] * 6, buy])
    assert count("hold ran out") == 1
    assert set(RodDay.objects.values_list("let__status", flat=True)) <= {"confirmed"}
    assert RodDay.objects.count() in (0, 24)


def test_of_six_changes_to_one_version_one_is_kept(beat, owner):
    made = let(beat, rods=1)
    change = partial(change_let, made, version=1, by=owner, now=NOON)
    answers = at_once([partial(change, facts={"rods": 1 + n % 3, "last_on": WEEK[n]}) for n in range(6)])
    assert kinds(answers) == ["Let", *["Stale"] * 5]
    made.refresh_from_db()
    days = (made.last_on - made.first_on).days + 1
    assert (made.version, made.rod_days.count()) == (2, made.rods * days)


def test_two_lets_that_change_places_across_two_beats_wait_in_no_ring(beat, owner):
    other = BeatFactory(fishery=beat.fishery, rods=4)
    pairs = [(let(beat, rods=2), other), (let(other, rods=2), beat)]
    answers = at_once(
        [partial(change_let, made, facts={"beat": to}, version=1, by=owner, now=NOON) for made, to in pairs]
    )
    assert kinds(answers) == ["Let", "Let"]
    assert RodDay.objects.count() == 24


@pytest.mark.parametrize("_attempt", range(3))
def test_two_parties_of_the_same_guests_in_another_order_wait_in_no_ring(beat, owner, _attempt):
    beat, other = BeatFactory.create_batch(2, fishery=beat.fishery, rods=20)
    guests = GuestFactory.create_batch(3, fishery=beat.fishery)
    asked = [partial(let, beat, guests=guests, rods=3, by=owner, booker=guests[0]),
             partial(let, other, guests=guests[::-1], rods=3, by=owner, booker=guests[0])]  # fmt: skip
    assert kinds(at_once(asked * 3)) == [*["GuestTaken"] * 5, "Let"]


def test_a_party_named_from_four_sides_is_named_once(beat, owner):
    made = let(beat, last_on=MONDAY)
    guests = GuestFactory.create_batch(4, fishery=beat.fishery)
    named = [partial(name_party, made, places=[Place(MONDAY, 1, guest)], version=1, by=owner, now=NOON)
             for guest in guests]  # fmt: skip
    assert kinds(at_once(named)) == ["Let", *["Stale"] * 3]


@pytest.mark.parametrize("_attempt", range(6))
def test_a_beat_closed_while_it_is_let_is_one_or_the_other(beat, owner, _attempt):
    booker = GuestFactory(fishery=beat.fishery)
    close = partial(close_beat, beat, from_on=WEEK[0], to_on=WEEK[5], reason="bridge", by=owner, now=NOON)
    answers = at_once([partial(let, beat, rods=1, by=owner, booker=booker) for _ in range(3)] + [close])
    closed = BeatClosure.objects.exists()
    assert RodDay.objects.exists() != closed
    assert kinds(answers[:3]) == (["DayClosed"] * 3 if closed else ["Let"] * 3)


def test_six_sweeps_offer_each_week_once_and_one_week_to_a_person(beat, owner):
    lets = [let(beat, rods=1, kind="week") for _ in range(4)]
    open_season(beat.fishery, year=2027, answer_by=dt.date(2026, 11, 30), by=owner, now=AUTUMN)
    at_once([partial(sweep, AUTUMN)] * 6)
    assert sorted(Offer.objects.values_list("same_week__last_let", "number")) == [(each.pk, 0) for each in lets]
    for offer in Offer.objects.all():
        cancel_let(offer.let, by=owner, now=AUTUMN)
    for _ in range(2):
        guest = GuestFactory(fishery=beat.fishery)
        join_waiting(beat.fishery, guest=guest, beat=None, week=None, rods=1, by=owner, now=AUTUMN)
    for _ in range(3):
        at_once([partial(sweep, AUTUMN)] * 6)
    asked = list(Offer.objects.filter(number__gte=1, let__status="held").values_list("waiting", flat=True))
    assert (len(asked), len(set(asked))) == (2, 2)
