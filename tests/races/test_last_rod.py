"""Many people ask for the last rod at the same moment; the unique row decides."""

import datetime as dt
from functools import partial

import pytest

from beats.models import AuditEntry
from beats.shared.once import Once
from bookings.models import Let, RodDay
from bookings.services.lets import cancel_let, let_rods
from tests.factories import NOON, BeatFactory, GuestFactory, RodDayFactory, keeper
from tests.races.together import at_once, kinds

pytestmark = [pytest.mark.races, pytest.mark.django_db(transaction=True)]

MONDAY, SATURDAY = dt.date(2026, 5, 4), dt.date(2026, 5, 9)


def asking(beat, owner, **asked):
    facts = {"booker": GuestFactory(fishery=beat.fishery), "by": owner, "now": NOON}
    facts |= {"first_on": MONDAY, "last_on": SATURDAY, "rods": 1}
    return partial(let_rods, beat, **(facts | asked))


def test_the_last_rod_goes_to_exactly_one_of_ten():
    beat = BeatFactory(rods=2)
    owner = keeper(beat.fishery)
    asking(beat, owner)()
    answers = at_once([asking(beat, owner) for _ in range(10)])
    assert kinds(answers) == [*["RodsTaken"] * 9, "tuple"]
    assert RodDay.objects.count() == 12
    assert (Let.objects.count(), AuditEntry.objects.filter(verb="let rods").count()) == (2, 2)


def test_four_rods_go_to_exactly_four_of_twelve_each_with_its_own_number():
    beat = BeatFactory(rods=4)
    owner = keeper(beat.fishery)
    answers = at_once([asking(beat, owner) for _ in range(12)])
    assert kinds(answers) == [*["RodsTaken"] * 8, *["tuple"] * 4]
    lets = Let.objects.all()
    numbers = [sorted(set(let.rod_days.values_list("rod", flat=True))) for let in lets]
    assert sorted(numbers) == [[1], [2], [3], [4]]
    assert [let.rod_days.count() for let in lets] == [6, 6, 6, 6]


def test_weeks_that_overlap_by_one_full_day_are_let_whole_or_not_at_all():
    beat = BeatFactory(rods=1)
    owner = keeper(beat.fishery)
    early = asking(beat, owner, last_on=dt.date(2026, 5, 6))
    late = asking(beat, owner, first_on=dt.date(2026, 5, 6))
    answers = at_once([early, late] * 4)
    assert kinds(answers) == [*["RodsTaken"] * 7, "tuple"]
    (let,) = Let.objects.all()
    assert let.rod_days.count() == (let.last_on - let.first_on).days + 1


def test_one_guest_asked_for_on_two_beats_fishes_one():
    beat = BeatFactory(rods=4)
    owner, guest = keeper(beat.fishery), GuestFactory(fishery=beat.fishery)
    beats = [beat, BeatFactory(fishery=beat.fishery, rods=4)]
    answers = at_once([asking(where, owner, guests=[guest], last_on=MONDAY) for where in beats * 3])
    assert kinds(answers) == [*["GuestTaken"] * 5, "tuple"]
    assert RodDay.objects.filter(guest=guest).count() == 1


def test_one_key_from_eight_threads_makes_one_let_and_all_get_it():
    beat = BeatFactory(rods=4)
    once = Once.of("one-key-for-all", ["POST", "/api/v1/lets/", {}])
    asked = asking(beat, keeper(beat.fishery), once=once)
    answers = at_once([asked] * 8)
    assert kinds(answers) == ["tuple"] * 8
    assert {let.pk for let, _ in answers} == {Let.objects.get().pk}
    assert sorted(made for _, made in answers) == [*[False] * 7, True]
    assert RodDay.objects.count() == 6


def test_a_let_cancelled_from_four_sides_is_cancelled_once():
    claim = RodDayFactory(let__beat__rods=2)
    owner = keeper(claim.beat.fishery)
    answers = at_once([partial(cancel_let, claim.let, by=owner, now=NOON)] * 4)
    assert [let.status for let in answers] == ["cancelled"] * 4
    assert AuditEntry.objects.filter(verb="cancel let").count() == 1
