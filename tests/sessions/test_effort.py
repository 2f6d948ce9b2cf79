"""Rod-days. Topic Sheet 103 (December 2018): 2 rods on each of 10 days are 20; blank days count; a month
without fishing is 0; sea-trout-only fishing does not count unless a salmon was caught that day."""

import datetime as dt

import pytest

from sessions.effort import MonthEffort, Seen, by_month, not_for_salmon
from sessions.models import EffortDecision
from sessions.returns import season_return
from tests.factories import (
    NOON,
    BeatFactory,
    CatchFactory,
    GuestFactory,
    OutingFactory,
    RodDayFactory,
    RotaFactory,
    TurnFactory,
    client_of,
)

DAY = NOON.date()
NEW_YEAR = dt.datetime(2027, 1, 2, 12, tzinfo=dt.UTC)
PATH = "/api/v1/fisheries/upper-water/returns/2026/"
NOTHING = {"booked": {}, "planned": {}, "seen": [], "left_out": [], "decided": {}}


def test_two_rods_on_ten_days_are_twenty():
    (may,) = by_month(**NOTHING | {"booked": {5: 2 * 10}}, months=[5])
    assert may.counted == 20


def test_a_month_of_which_nothing_is_known_is_no_zero():
    assert by_month(**NOTHING, months=[3, 4]) == [MonthEffort(3), MonthEffort(4)]
    assert [each.counted for each in by_month(**NOTHING, months=[3, 4])] == [None, None]


def test_the_owner_s_word_stands_over_every_source():
    (may,) = by_month(**NOTHING | {"booked": {5: 9}, "decided": {5: (7, "two rods stayed home")}}, months=[])
    assert (may.counted, may.booked, may.reason) == (7, 9, "two rods stayed home")


@pytest.mark.parametrize(
    ("seen", "salmon", "left_out"),
    [
        ([Seen(1, DAY, True)], [], True),
        ([Seen(1, DAY, True)], [(1, DAY)], False),
        ([Seen(1, DAY, True)], [(2, DAY)], True),
        ([Seen(1, DAY, True), Seen(1, DAY, False)], [], False),
        ([Seen(1, DAY, False)], [], False),
    ],
)
def test_fishing_for_sea_trout_alone_does_not_count_unless_a_salmon_came(seen, salmon, left_out):
    assert not_for_salmon(seen, salmon) == (frozenset({(1, DAY)}) if left_out else frozenset())


@pytest.fixture
def beat(db):
    return BeatFactory(fishery__slug="upper-water")


@pytest.fixture
def client(owner):
    return client_of(owner)


def fished(beat, *, guest=None, rod=1, **outing):
    guest = guest or GuestFactory(fishery=beat.fishery)
    RodDayFactory(let__beat=beat, guest=guest, rod=rod, day=DAY)
    OutingFactory(beat=beat, guest=guest, **outing)
    return guest


def may_of(client):
    return next(row for row in client.get(f"{PATH}effort/").json() if row["month"] == 5)


def test_lets_turns_and_check_ins_stand_side_by_side(client, beat):
    fished(beat)
    RodDayFactory(let__beat=beat, rod=2, day=DAY)
    rota = RotaFactory(beat=beat, status="published")
    for slug in ("morning", "evening"):
        TurnFactory(rota=rota, day=DAY, rod=1, part__slug=slug)
    told = may_of(client)
    assert {name: told[name] for name in ("booked", "planned", "checked_in", "difference", "counted")} == {
        "booked": 2, "planned": 1, "checked_in": 1, "difference": 1, "counted": 2,
    }  # fmt: skip
    found = client.get(PATH).json()["findings"]
    assert [one["sentence"] for one in found if one["code"] == "effort-differs"] == [
        "May: 2 rod-days let, 1 seen on the water. Say which it was, and why."
    ]  # fmt: skip


def test_a_sea_trout_day_leaves_the_return_until_a_salmon_is_caught_on_it(client, beat):
    guest = fished(beat, sea_trout_only=True)
    fished(beat, rod=2)
    assert [may_of(client)[name] for name in ("booked", "sea_trout_only", "counted")] == [2, 1, 1]
    CatchFactory(beat=beat, guest=guest, kind="sea_trout")
    assert season_return(beat.fishery, 2026, now=NEW_YEAR).rod_days == 1
    CatchFactory(beat=beat, guest=guest)
    assert season_return(beat.fishery, 2026, now=NEW_YEAR).rod_days == 2


def decide(client, **asked):
    body = {"month": 5, "rod_days": 1, "reason": "One rod never came."} | asked
    return client.post(f"{PATH}effort/", body, format="json")


def test_the_owner_decides_with_a_reason_and_the_last_word_holds(client, beat):
    for rod in (1, 2):
        fished(beat, rod=rod)
    assert (decide(client).status_code, decide(client, rod_days=0, reason="Flood.").status_code) == (201, 201)
    may = next(row for row in client.get(PATH).json()["months"] if row["month"] == 5)
    assert (may["rod_days"], may_of(client)["reason"], EffortDecision.objects.count()) == (0, "Flood.", 2)


WRONG = [({"reason": ""}, "reason"), ({"month": 13}, "month"), ({"rod_days": -1}, "rod_days")]


@pytest.mark.parametrize(("asked", "field"), [*WRONG, ({"rod_days": 125}, "rod_days")])
def test_effort_that_cannot_be_is_refused(client, beat, asked, field):
    response = decide(client, **asked)  # four rods, 31 days: 124 at most
    assert (response.status_code, list(response.json()["errors"])) == (400, [field])
    assert EffortDecision.objects.count() == 0


def test_a_check_in_says_what_it_is_for(client, beat):
    guest = GuestFactory(fishery=beat.fishery)
    soon = (dt.datetime.now(dt.UTC) + dt.timedelta(hours=2)).isoformat()
    body = {"guest": guest.pk, "beat": beat.pk, "alone": True, "due_back_at": soon, "sea_trout_only": True}
    assert client.post("/api/v1/outings/", body, format="json").json()["sea_trout_only"] is True
