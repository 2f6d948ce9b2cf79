"""A let that changes: new days, rods or beat are claimed before the old go, and names go along."""

import datetime as dt

import pytest

from beats.models import AuditEntry
from beats.shared.refusals import NotYours, Stale
from bookings.models import RodDay
from bookings.services.changes import change_let, transfer_let
from bookings.services.claims import BadLet, DayClosed, GuestTaken, RodsTaken
from bookings.services.holds import LetOver, cancel_let
from tests.bookings.book import MONDAY, SATURDAY, WEEK, claims, let
from tests.factories import NOON, BeatFactory, GuestFactory, RodDayFactory, client_of, keeper

pytestmark = pytest.mark.django_db

NEXT = [day + dt.timedelta(days=7) for day in WEEK]


@pytest.fixture
def beat():
    return BeatFactory(rods=3)


def change(made, *, by=None, now=NOON, version=1, **facts):
    return change_let(made, facts=facts, version=version, by=by or keeper(made.beat.fishery), now=now)


def test_other_days_are_claimed_with_their_names_and_the_old_are_free(beat):
    ailsa = GuestFactory(fishery=beat.fishery)
    made = let(beat, guests=[ailsa])
    changed = change(made, first_on=NEXT[0], last_on=NEXT[-1])
    assert claims(changed) == [(day, rod, guest) for day in NEXT for rod, guest in ((1, ailsa.pk), (2, None))]
    assert (changed.version, RodDay.objects.filter(day__in=WEEK).count()) == (2, 0)


def test_days_that_stay_keep_their_very_rows(beat):
    made = let(beat)
    stay = set(made.rod_days.filter(day__gte=WEEK[2]).values_list("pk", flat=True))
    changed = change(made, first_on=WEEK[2])
    assert set(changed.rod_days.values_list("pk", flat=True)) == stay


def test_another_beat_takes_the_party_along_on_the_same_days(beat):
    ailsa = GuestFactory(fishery=beat.fishery)
    lower = BeatFactory(fishery=beat.fishery, rods=2)
    changed = change(let(beat, guests=[ailsa], last_on=MONDAY), beat=lower)
    assert claims(changed) == [(MONDAY, 1, ailsa.pk), (MONDAY, 2, None)]
    assert set(RodDay.objects.values_list("beat", flat=True)) == {lower.pk}


def test_fewer_rods_leave_those_without_a_name_first(beat):
    made = let(beat, rods=3, last_on=MONDAY)
    ailsa = GuestFactory(fishery=beat.fishery)
    made.rod_days.filter(rod=3).update(guest=ailsa)
    assert claims(change(made, rods=1)) == [(MONDAY, 3, ailsa.pk)]


def test_more_rods_are_added_beside_the_old(beat):
    assert claims(change(let(beat, last_on=MONDAY), rods=3)) == [(MONDAY, rod, None) for rod in (1, 2, 3)]


@pytest.mark.parametrize(
    ("kind", "facts"),
    [
        (RodsTaken, {"first_on": NEXT[0], "last_on": NEXT[1]}),
        (DayClosed, {"last_on": NEXT[1]}),
        (BadLet, {"rods": 4}),
        (BadLet, {"last_on": dt.date(2026, 5, 10)}),
    ],
)
def test_a_change_that_is_refused_leaves_the_let_as_it_was(beat, kind, facts):
    made = let(beat)
    let(beat, first_on=NEXT[1], last_on=NEXT[1])
    before = claims(made)
    with pytest.raises(kind):
        change(made, **facts)
    made.refresh_from_db()
    assert (claims(made), made.first_on, made.last_on, made.rods, made.version) == (before, MONDAY, SATURDAY, 2, 1)


def test_a_change_to_days_a_named_guest_fishes_elsewhere_names_them(beat):
    ailsa = GuestFactory(fishery=beat.fishery, name="Ailsa Roe")
    made = let(beat, guests=[ailsa], last_on=MONDAY)
    RodDayFactory(let__beat=BeatFactory(fishery=beat.fishery, name="Lower"), day=NEXT[0], guest=ailsa)
    with pytest.raises(GuestTaken, match="Ailsa Roe already fishes Lower on Monday 18 May"):
        change(made, first_on=NEXT[0], last_on=NEXT[0])
    assert claims(made) == [(MONDAY, 1, ailsa.pk), (MONDAY, 2, None)]


def test_a_stale_version_changes_nothing(beat):
    made = let(beat)
    change(made, rods=3)
    with pytest.raises(Stale):
        change(made, rods=1)
    assert made.rod_days.count() == 18


def test_days_already_fished_stay(beat):
    made = let(beat)
    wednesday = dt.datetime.combine(WEEK[2], dt.time(12), dt.UTC)
    with pytest.raises(BadLet, match="Days before 13 May 2026 stay"):
        change(made, first_on=WEEK[2], now=wednesday)
    with pytest.raises(BadLet, match="Split the let"):
        change(made, rods=1, now=wednesday)
    assert change(made, last_on=WEEK[3], now=wednesday).rod_days.count() == 8


def test_a_let_that_is_over_is_not_changed_nor_handed_on(beat):
    made, owner = let(beat), keeper(beat.fishery)
    cancel_let(made, by=owner, now=NOON)
    with pytest.raises(LetOver):
        change(made, rods=1, version=2)
    with pytest.raises(LetOver):
        transfer_let(made, to=GuestFactory(fishery=beat.fishery), by=owner, now=NOON)


def test_a_beat_of_another_water_is_no_place_to_go(beat):
    with pytest.raises(BadLet, match="another fishery"):
        change(let(beat), beat=BeatFactory())


def test_only_the_owner_changes(beat):
    with pytest.raises(NotYours):
        change(let(beat), rods=1, by=keeper(beat.fishery, "ghillie"))


def test_the_audit_trail_says_what_was_and_what_is(beat):
    change(let(beat), rods=1)
    entry = AuditEntry.objects.get(verb="change let")
    assert (entry.before["rods"], entry.after["rods"], entry.after["beat"]) == (2, 1, beat.slug)


def test_over_the_wire_a_change_carries_the_version_it_read(beat):
    made, owner = let(beat), client_of(keeper(beat.fishery))
    path = f"/api/v1/lets/{made.pk}/"
    made.rod_days.filter(day__gt=MONDAY).delete()
    made.first_on, made.last_on = dt.date(2099, 5, 11), dt.date(2099, 5, 11)
    made.rod_days.update(day=made.first_on)
    made.save()
    tag = owner.get(path)["ETag"]
    sent = [owner.patch(path, {"rods": 1}, format="json", headers=head) for head in
            ({"If-Match": tag}, {"If-Match": tag}, {})]  # fmt: skip
    assert [answer.status_code for answer in sent] == [200, 412, 428]
    assert (tag, sent[0].json()["version"]) == ('"1"', 2)
