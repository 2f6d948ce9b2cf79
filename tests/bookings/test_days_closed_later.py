"""Lets on days that the law or the fishery closed after they were made: no act may add to them, and giving a
closed day up is always possible.

The fishery's own rules stand for every change of law: both are judged by `beats.season`.
"""

import datetime as dt

import pytest

from beats.models import FisheryRule
from bookings.closed_lets import lets_on_closed_days
from bookings.models import RodDay
from bookings.services.lets import let_rods
from tests.bookings.book import next_wednesday_in_may
from tests.factories import (
    NOON,
    BeatClosureFactory,
    BeatFactory,
    GuestFactory,
    OfferFactory,
    client_of,
    guest_with_account,
    keeper,
)
from tests.pages import at, text

pytestmark = pytest.mark.django_db

WEDNESDAY = next_wednesday_in_may()
THURSDAY, FRIDAY = (WEDNESDAY + dt.timedelta(days=n) for n in (1, 2))
SUNDAY = 6
REASON = "The bank is being rebuilt"


@pytest.fixture
def beat():
    return BeatFactory(rods=4)


@pytest.fixture
def api(beat):
    return client_of(keeper(beat.fishery))


def let(beat, **asked):
    facts = {"booker": GuestFactory(fishery=beat.fishery), "first_on": WEDNESDAY, "last_on": FRIDAY, "rods": 2}
    facts |= {"by": keeper(beat.fishery), "now": NOON}
    return let_rods(beat, **(facts | asked))[0]


def by_rule(beat, day):
    month_day = f"{day:%m-%d}"
    FisheryRule.objects.create(
        fishery=beat.fishery, status="closed", start=month_day, end=month_day, reason=REASON
    )


def by_closure(beat, day):
    BeatClosureFactory(beat=beat, from_on=day, to_on=day, reason=REASON)


CLOSED_BY = pytest.mark.parametrize("close", [by_rule, by_closure])


def patch(api, made, **facts):
    return api.patch(f"/api/v1/lets/{made.pk}/", facts, format="json", headers={"If-Match": f'"{made.version}"'})


def refused(answer, day=FRIDAY):
    assert (answer.status_code, answer.json()["type"]) == (409, "/api/v1/problems/day-closed"), answer.content
    assert REASON in answer.json()["errors"][day.isoformat()][0]


def standing(made):
    made.refresh_from_db()
    return made.status, made.version, made.booker_id, made.rods, made.rod_days.count()


@CLOSED_BY
@pytest.mark.parametrize("facts", [{"rods": 3}, {"rods": 4, "kind": "whole_beat"}])
def test_no_rod_is_added_on_a_closed_day(beat, api, close, facts):
    made = let(beat)
    close(beat, FRIDAY)
    before = standing(made)
    refused(patch(api, made, **facts))
    assert standing(made) == before


@CLOSED_BY
def test_a_let_is_not_lengthened_or_moved_onto_a_closed_day(beat, api, close):
    made = let(beat, last_on=THURSDAY)
    close(beat, FRIDAY)
    refused(patch(api, made, last_on=FRIDAY))
    refused(patch(api, made, first_on=FRIDAY, last_on=FRIDAY))


def test_a_let_is_not_moved_to_a_beat_that_is_closed(beat, api):
    made, other = let(beat), BeatFactory(fishery=beat.fishery, rods=4)
    by_closure(other, FRIDAY)
    refused(patch(api, made, beat=other.pk))


@CLOSED_BY
def test_a_hold_on_a_closed_day_is_not_confirmed(beat, api, close):
    made = let(beat, hold=True, now=dt.datetime.now(dt.UTC))
    close(beat, FRIDAY)
    before = standing(made)
    refused(api.post(f"/api/v1/lets/{made.pk}/confirm/"))
    assert standing(made) == before


@CLOSED_BY
def test_a_let_with_a_closed_day_is_not_handed_on(beat, api, close):
    made, other = let(beat), GuestFactory(fishery=beat.fishery)
    close(beat, FRIDAY)
    before = standing(made)
    refused(api.post(f"/api/v1/lets/{made.pk}/transfer/", {"to": other.pk}, format="json"))
    assert standing(made) == before


@CLOSED_BY
@pytest.mark.parametrize("cut", [{"from_on": THURSDAY}, {"rods": 1}])
def test_a_part_with_a_closed_day_is_not_split_off(beat, api, close, cut):
    made, other = let(beat), GuestFactory(fishery=beat.fishery)
    close(beat, FRIDAY)
    before = standing(made)
    refused(api.post(f"/api/v1/lets/{made.pk}/split/", {"booker": other.pk} | cut, format="json"))
    assert standing(made) == before


@CLOSED_BY
def test_no_second_guest_shares_a_rod_on_a_closed_day(beat, api, close):
    made, other = let(beat), GuestFactory(fishery=beat.fishery)
    close(beat, FRIDAY)
    refused(api.post(f"/api/v1/lets/{made.pk}/share/", {"rod": 1, "guest": other.pk}, format="json"))


@CLOSED_BY
def test_closed_days_can_be_given_up(beat, api, close):
    """At the end, at the beginning, in the middle and altogether."""
    end, beginning, middle, whole = (let(beat, rods=1) for _ in range(4))
    close(beat, THURSDAY)
    assert patch(api, end, last_on=WEDNESDAY).status_code == 200
    assert patch(api, beginning, first_on=FRIDAY).status_code == 200
    parted = api.post(
        f"/api/v1/lets/{middle.pk}/split/", {"booker": middle.booker_id, "from_on": FRIDAY}, format="json"
    )
    assert parted.status_code == 201, parted.content
    middle.refresh_from_db()
    assert patch(api, middle, last_on=WEDNESDAY).status_code == 200
    assert api.post(f"/api/v1/lets/{whole.pk}/cancel/").status_code == 200
    assert not RodDay.objects.filter(day=THURSDAY).exists()
    assert RodDay.objects.filter(day__in=[WEDNESDAY, FRIDAY]).count() == 4


def test_a_split_to_the_same_booker_keeps_their_own_rod(beat, api):
    booker = GuestFactory(fishery=beat.fishery)
    made = let(beat, booker=booker, guests=[booker], rods=1)
    answer = api.post(f"/api/v1/lets/{made.pk}/split/", {"booker": booker.pk, "from_on": FRIDAY}, format="json")
    assert answer.status_code == 201, answer.content
    assert set(RodDay.objects.values_list("day", "guest")) == {
        (day, booker.pk) for day in (WEDNESDAY, THURSDAY, FRIDAY)
    }


@CLOSED_BY
def test_what_takes_no_new_day_is_not_refused(beat, api, close):
    """Fewer rods, other company, a whole beat sold as days."""
    made = let(beat, rods=4, kind="whole_beat")
    close(beat, FRIDAY)
    answer = patch(api, made, rods=2, kind="day", company="together")
    assert answer.status_code == 200, answer.content


@CLOSED_BY
def test_the_tenant_of_a_held_week_cannot_confirm_closed_days_but_can_decline(beat, close):
    tenant = guest_with_account(beat.fishery)
    held = let(beat, booker=tenant, hold=True, now=dt.datetime.now(dt.UTC))
    OfferFactory(let=held, same_week__last_let=let(beat))
    close(beat, FRIDAY)
    me = client_of(tenant.user)
    refused(me.post(f"/api/v1/lets/{held.pk}/confirm/"))
    assert me.post(f"/api/v1/lets/{held.pk}/cancel/").json()["status"] == "cancelled"


@CLOSED_BY
def test_the_pages_refuse_with_the_reason(beat, house, close):
    held = let(beat, hold=True, now=dt.datetime.now(dt.UTC))
    made, other = let(beat), GuestFactory(fishery=beat.fishery)
    close(beat, FRIDAY)
    asked = {
        at("house-confirm", beat, held.pk): {"key": "k1"},
        at("house-hand-on", beat, made.pk): {"key": "k3", "to": other.pk},
        at("house-split", beat, made.pk): {"key": "k2", "booker": other.pk, "from_on": FRIDAY},
    }
    for path, typed in asked.items():
        answer = house.post(path, typed)
        assert (answer.status_code, REASON in text(answer)) == (422, True), (path, text(answer))
    assert (standing(held)[0], standing(made)[2]) == ("held", made.booker_id)


def listed(beat, who=None):
    who = who or keeper(beat.fishery)
    return client_of(who).get(f"/api/v1/fisheries/{beat.fishery.slug}/lets-on-closed-days/")


@CLOSED_BY
def test_the_owner_has_a_list_of_lets_on_closed_days(beat, close):
    other = BeatFactory(fishery=beat.fishery, rods=4)
    made, _elsewhere = let(beat), let(other, last_on=THURSDAY)
    assert listed(beat).json() == []
    close(beat, THURSDAY)
    close(beat, FRIDAY)
    mine = next(each for each in listed(beat).json() if each["let"]["id"] == made.pk)
    assert mine["let"]["booker_name"] == made.booker.name
    assert [each["day"] for each in mine["closed"]] == [THURSDAY.isoformat(), FRIDAY.isoformat()]
    assert all(REASON in each["reason"] for each in mine["closed"])
    assert len(listed(beat).json()) == (2 if close is by_rule else 1)


def test_a_fishery_file_loaded_again_brings_lets_onto_the_list(beat):
    """SSI 2014/327, Schedule: rods until 31 October by entry 51, until 15 October by entry 5."""
    october = dt.date(WEDNESDAY.year, 10, 19)
    day = october + dt.timedelta(days=october.weekday() == SUNDAY)
    made = let(beat, first_on=day, last_on=day)
    before = listed(beat).json()
    beat.fishery.district = "5"
    beat.fishery.save()
    assert (before, [each["let"]["id"] for each in listed(beat).json()]) == ([], [made.pk])


def test_what_is_over_cancelled_or_run_out_is_not_listed(beat, api):
    cancelled, lapsed = let(beat), let(beat, rods=1, hold=True)  # the hold was made at NOON and has run out
    api.post(f"/api/v1/lets/{cancelled.pk}/cancel/")
    by_rule(beat, FRIDAY)
    assert listed(beat).json() == []
    assert lapsed.rod_days.exists()


def test_a_let_leaves_the_list_with_its_closed_day(beat, api):
    made = let(beat)
    by_rule(beat, FRIDAY)
    assert len(listed(beat).json()) == 1
    assert patch(api, made, last_on=THURSDAY).status_code == 200
    assert listed(beat).json() == []


@pytest.mark.parametrize("page", ["house", "house-lets"])
def test_the_owner_finds_them_on_the_desk_and_above_the_lets(beat, house, page):
    made = let(beat)
    assert REASON not in text(house.get(at(page, beat)))
    by_rule(beat, FRIDAY)
    shown = text(house.get(at(page, beat)))
    assert REASON in shown
    for name in ("house-let", "house-change", "house-split", "house-cancel", "house-entry"):
        assert at(name, beat, made.pk) in shown


def test_the_list_asks_as_often_for_many_lets_as_for_one(beat, django_assert_num_queries):
    let(beat)
    by_rule(beat, FRIDAY)
    for made in (1, 4):
        with django_assert_num_queries(5):
            assert len(lets_on_closed_days(beat.fishery, now=dt.datetime.now(dt.UTC))) == made
        if made == 1:
            for week in (1, 2, 3):
                days = dt.timedelta(days=7 * week)
                let(beat, first_on=WEDNESDAY + days, last_on=FRIDAY + days)
                by_rule(beat, FRIDAY + days)
