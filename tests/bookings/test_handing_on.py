"""A let handed to another guest, split between two, and its party named rod by rod."""

import datetime as dt

import pytest

from beats.shared.once import Once
from beats.shared.refusals import Stale
from bookings.models import Let, RodDay
from bookings.services.changes import split_let, transfer_let
from bookings.services.claims import BadLet, GuestTaken
from bookings.services.party import Place, name_party
from tests.bookings.book import MONDAY, WEEK, claims, let
from tests.factories import NOON, BeatFactory, GuestFactory, RodDayFactory, client_of, guest_with_account, keeper

pytestmark = pytest.mark.django_db


@pytest.fixture
def beat():
    return BeatFactory(rods=3)


@pytest.fixture
def owner(beat):
    return keeper(beat.fishery)


def someone(beat, **facts):
    return GuestFactory(fishery=beat.fishery, **facts)


def test_a_transfer_passes_on_the_rods_in_the_old_booker_s_name(beat, owner):
    old, friend, new = someone(beat), someone(beat), someone(beat)
    made = let(beat, booker=old, guests=[old, friend], last_on=MONDAY)
    handed = transfer_let(made, to=new, by=owner, now=NOON)
    assert (handed.booker, handed.version) == (new, 2)
    assert claims(handed) == [(MONDAY, 1, new.pk), (MONDAY, 2, friend.pk)]
    assert transfer_let(made, to=new, by=owner, now=NOON).version == 2


def test_a_transfer_to_somebody_who_fishes_elsewhere_is_refused(beat, owner):
    old, new = someone(beat), someone(beat)
    made = let(beat, booker=old, guests=[old])
    RodDayFactory(let__beat=BeatFactory(fishery=beat.fishery), day=MONDAY, guest=new)
    with pytest.raises(GuestTaken):
        transfer_let(made, to=new, by=owner, now=NOON)
    made.refresh_from_db()
    assert made.booker == old


def test_a_week_is_split_by_days_and_no_rod_day_is_lost(beat, owner):
    made, second = let(beat, kind="week"), someone(beat)
    before = set(RodDay.objects.values_list("pk", flat=True))
    part, new = split_let(made, booker=second, from_on=WEEK[3], by=owner, now=NOON)
    made.refresh_from_db()
    assert (new, part.booker, part.split_from, part.kind, part.status) == (True, second, made, "week", "confirmed")
    assert [(each.first_on, each.last_on) for each in (made, part)] == [(MONDAY, WEEK[2]), (WEEK[3], WEEK[5])]
    assert [each.rod_days.count() for each in (made, part)] == [6, 6]
    assert set(RodDay.objects.values_list("pk", flat=True)) == before


def test_a_whole_beat_split_by_rods_becomes_days(beat, owner):
    made = let(beat, kind="whole_beat", rods=3, last_on=MONDAY)
    part, _ = split_let(made, booker=someone(beat), rods=1, by=owner, now=NOON)
    made.refresh_from_db()
    assert [(each.kind, each.rods, claims(each)) for each in (made, part)] == [
        ("day", 2, [(MONDAY, 1, None), (MONDAY, 2, None)]),
        ("day", 1, [(MONDAY, 3, None)]),
    ]


def test_a_split_asked_for_twice_with_one_key_is_made_once(beat, owner):
    made, second = let(beat), someone(beat)
    once = Once.of("split-once-please", ["POST", "split"])
    asked = {"booker": second, "from_on": WEEK[3], "by": owner, "now": NOON, "once": once}
    first, again = split_let(made, **asked), split_let(made, **asked)
    assert (first[0], again) == (again[0], (first[0], False))
    assert Let.objects.count() == 2


@pytest.mark.parametrize(
    "cut",
    [
        {}, {"from_on": WEEK[2], "rods": 1}, {"from_on": MONDAY}, {"from_on": dt.date(2026, 5, 18)}, {"rods": 2},
        {"rods": 3}, {"from_on": dt.date(2026, 5, 1)},
    ],
)  # fmt: skip
def test_a_cut_that_leaves_nothing_on_one_side_is_refused(beat, owner, cut):
    made = let(beat)
    with pytest.raises(BadLet):
        split_let(made, booker=someone(beat), **cut, by=owner, now=NOON)
    assert (Let.objects.count(), made.rod_days.count()) == (1, 12)


def test_a_party_is_named_later_and_two_may_change_places(beat, owner):
    made, first, second = let(beat, last_on=MONDAY), someone(beat), someone(beat)
    named = name_party(
        made, places=[Place(MONDAY, 1, first), Place(MONDAY, 2, second)], version=1, by=owner, now=NOON
    )
    swapped = name_party(
        named, places=[Place(MONDAY, 1, second), Place(MONDAY, 2, first)], version=2, by=owner, now=NOON
    )
    assert claims(swapped) == [(MONDAY, 1, second.pk), (MONDAY, 2, first.pk)]


def test_a_party_is_named_whole_or_not_at_all(beat, owner):
    made, first, busy = let(beat, last_on=MONDAY), someone(beat), someone(beat)
    RodDayFactory(let__beat=BeatFactory(fishery=beat.fishery), day=MONDAY, guest=busy)
    with pytest.raises(GuestTaken):
        name_party(made, places=[Place(MONDAY, 1, first), Place(MONDAY, 2, busy)], version=1, by=owner, now=NOON)
    assert claims(made) == [(MONDAY, 1, None), (MONDAY, 2, None)]


def test_places_that_overlap_or_are_not_there_are_named(beat, owner):
    made, first, second = let(beat, last_on=MONDAY), someone(beat), someone(beat)
    asked = {"version": 1, "by": owner, "now": NOON}
    with pytest.raises(BadLet, match="named twice"):
        name_party(made, places=[Place(MONDAY, 1, first), Place(MONDAY, 1, second)], **asked)
    with pytest.raises(GuestTaken, match="two rods of one day"):
        name_party(made, places=[Place(MONDAY, 1, first), Place(MONDAY, 2, first)], **asked)
    with pytest.raises(BadLet, match="no rod 3 on 11 May 2026"):
        name_party(made, places=[Place(MONDAY, 3, first)], **asked)
    with pytest.raises(Stale):
        name_party(made, places=[Place(MONDAY, 1, first)], **asked | {"version": 7})


def test_the_party_s_leader_sees_the_party_and_a_member_their_own_days(beat, owner):
    leader, member = guest_with_account(beat.fishery), guest_with_account(beat.fishery)
    made = let(beat, booker=leader, guests=[leader, member], last_on=MONDAY)
    let(beat, rods=1, last_on=MONDAY)
    path = f"/api/v1/lets/{made.pk}/party/"
    seen = {
        who: [row["guest"] for row in client_of(user).get(path).json()]
        for who, user in (("owner", owner), ("leader", leader.user), ("member", member.user))
    }
    everybody = [leader.pk, member.pk]
    assert seen == {"owner": everybody, "leader": everybody, "member": [member.pk]}


def test_over_the_wire_a_guest_of_another_water_is_not_there(beat, owner):
    made, stranger = let(beat, last_on=MONDAY), GuestFactory()
    body = {"places": [{"day": str(MONDAY), "rod": 1, "guest": stranger.pk}]}
    response = client_of(owner).put(
        f"/api/v1/lets/{made.pk}/party/", body, format="json", headers={"If-Match": '"1"'}
    )
    assert (response.status_code, claims(made)[0]) == (404, (MONDAY, 1, None))


def test_an_emoji_party_name_is_a_name(beat, owner):
    party = "Ailsa \N{FISHING POLE AND FISH} & Co"
    client = client_of(owner)
    told = client.post("/api/v1/guests/", {"fishery": beat.fishery.slug, "name": party}, format="json").json()
    made = let(beat, last_on=MONDAY)
    transfer = client.post(f"/api/v1/lets/{made.pk}/transfer/", {"to": told["id"]}, format="json")
    assert (transfer.json()["booker_name"], told["name"]) == (party, party)
