"""A crowd at a full beat: those who are too late are told by one question, in the same words as by all of them."""

import datetime as dt

import pytest
from django.http import Http404

from beats.shared.once import Once
from beats.shared.refusals import NotYours
from bookings.services.lets import RodsTaken, let_rods
from bookings.services.rush import let_asked
from tests.bookings.book import MONDAY, let
from tests.factories import NOON, BeatFactory, GuestFactory, UserFactory, keeper

pytestmark = pytest.mark.django_db

NEVER = 2**40
LATE = NOON + dt.timedelta(days=30)


@pytest.fixture
def beat():
    return BeatFactory(rods=3, name="Upper")


@pytest.fixture
def full(beat):
    """Monday is gone, and two of Tuesday's rods."""
    let(beat, rods=2, last_on=MONDAY + dt.timedelta(days=1))
    let(beat, rods=1, last_on=MONDAY)
    return beat


def ask(beat, **asked):
    facts = {"first_on": MONDAY, "last_on": MONDAY + dt.timedelta(days=1), "rods": 2, "now": NOON, "guests": []}
    facts |= {"booker": GuestFactory(fishery=beat.fishery).pk, "by": keeper(beat.fishery), "once": None}
    return let_asked(beat=beat.pk, **(facts | asked))


def refused(call):
    with pytest.raises(RodsTaken) as caught:
        call()
    return caught.value.sentence, caught.value.errors


def test_the_short_answer_is_the_long_one(full, owner):
    facts = {"first_on": MONDAY, "last_on": MONDAY + dt.timedelta(days=1), "rods": 2, "now": NOON, "by": owner}
    booker = GuestFactory(fishery=full.fishery)
    long = refused(lambda: let_rods(full, booker=booker, **facts))
    assert long[0].startswith("Upper has too few rods free. Monday 11 May: none left; Tuesday 12 May: 1 left.")
    assert refused(lambda: ask(full, by=owner)) == long


def test_the_too_late_cost_one_question(full, owner, django_assert_num_queries):
    facts = {"first_on": MONDAY, "last_on": MONDAY, "rods": 1, "booker": NEVER, "guests": []}
    with django_assert_num_queries(1):
        refused(lambda: let_asked(beat=full.pk, **facts, by=owner, now=NOON, once=None))


def test_a_day_with_room_is_let(full):
    made, new = ask(full, first_on=MONDAY + dt.timedelta(days=1), rods=1)
    assert (new, list(made.rod_days.values_list("rod", flat=True))) == (True, [3])


def test_a_hold_that_ran_out_stands_in_nobodys_way(beat):
    let(beat, rods=3, hold=True)
    assert refused(lambda: ask(beat, now=NOON))
    assert ask(beat, now=LATE)[1]


def test_only_the_owner_is_told_what_is_taken(full):
    with pytest.raises(NotYours):
        ask(full, by=keeper(full.fishery, "ghillie"))
    with pytest.raises(Http404):
        ask(full, by=UserFactory())


def test_the_same_request_again_finds_its_own_let(beat, owner):
    booker, once = GuestFactory(fishery=beat.fishery).pk, Once.of("key-of-a-phone", {})
    made, new = ask(beat, rods=3, by=owner, booker=booker, once=once)
    assert (new, ask(beat, rods=3, by=owner, booker=booker, once=once)) == (True, (made, False))


def test_a_booker_nobody_knows_is_not_found_where_there_is_room(full):
    with pytest.raises(Http404):
        ask(full, first_on=MONDAY + dt.timedelta(days=1), rods=1, booker=NEVER)
