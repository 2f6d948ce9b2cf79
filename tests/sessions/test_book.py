"""The book of fish over the wire: many at once, corrected, struck out, found again."""

import datetime as dt
from decimal import Decimal

import pytest
from django.utils import timezone

from beats.models import Reading
from sessions.models import Catch
from sessions.returns import season_return
from tests.factories import (
    NOON,
    BeatFactory,
    CatchFactory,
    DayPartFactory,
    GaugeFactory,
    OutingFactory,
    PoolFactory,
    client_of,
    guest_with_account,
    keeper,
)

pytestmark = pytest.mark.django_db

FISH = {"caught_at": NOON.isoformat(), "kind": "msw", "fate": "released"}
HOUR = dt.timedelta(hours=1)


@pytest.fixture
def beat():
    gauge = GaugeFactory()
    return BeatFactory(fishery=gauge.fishery, gauge=gauge)


@pytest.fixture
def guest(beat):
    return guest_with_account(beat.fishery)


@pytest.fixture
def client(guest):
    return client_of(guest.user)


def post(client, beat, guest, **facts):
    body = FISH | {"beat": beat.pk, "guest": guest.pk} | facts
    return client.post("/api/v1/catches/", body, format="json")


def test_all_the_fish_of_an_outing_go_in_at_once(client, beat, guest):
    outing, pool = OutingFactory(beat=beat, guest=guest), PoolFactory(beat=beat)
    many = [FISH | {"pool": pool.pk, "weight_kg": "4.10"}, FISH | {"kind": "1sw"}, FISH | {"kind": "kelt"}]
    response = client.post(f"/api/v1/outings/{outing.pk}/fish/", {"fish": many}, format="json")
    assert response.status_code == 201
    written = Catch.objects.order_by("id").values_list("kind", "outing", "guest", "beat", "pool")
    rest = (outing.pk, guest.pk, beat.pk)
    assert list(written) == [("msw", *rest, pool.pk), ("1sw", *rest, None), ("kelt", *rest, None)]
    assert [row["id"] for row in client.get(f"/api/v1/outings/{outing.pk}/fish/").json()["results"]] == [
        row["id"] for row in reversed(response.json())
    ]  # fmt: skip


def test_one_bad_fish_among_many_stops_them_all_and_is_named(client, beat, guest):
    outing = OutingFactory(beat=beat, guest=guest)
    many = [FISH, FISH | {"weight_kg": "4.60", "length_cm": "30"}]
    response = client.post(f"/api/v1/outings/{outing.pk}/fish/", {"fish": many}, format="json")
    assert (response.status_code, Catch.objects.count()) == (400, 0)
    assert "Is the length in inches?" in response.json()["detail"]


def test_many_fish_sent_twice_with_one_key_are_written_once(client, beat, guest):
    outing = OutingFactory(beat=beat, guest=guest)
    sent = [
        client.post(
            f"/api/v1/outings/{outing.pk}/fish/", {"fish": [FISH, FISH]}, format="json",
            headers={"Idempotency-Key": "phone-of-a-guest"},
        )
        for _ in range(2)
    ]  # fmt: skip
    assert [response.status_code for response in sent] == [201, 200]
    assert [row["id"] for row in sent[0].json()] == [row["id"] for row in sent[1].json()]
    assert Catch.objects.count() == 2


def test_a_pool_of_another_beat_is_not_there(client, beat, guest):
    outing = OutingFactory(beat=beat, guest=guest)
    for pool in (PoolFactory(beat__fishery=beat.fishery), PoolFactory()):
        body = {"fish": [FISH | {"pool": pool.pk}]}
        response = client.post(f"/api/v1/outings/{outing.pk}/fish/", body, format="json")
        assert (response.status_code, Catch.objects.count()) == (404, 0)


def test_level_and_temperature_come_from_the_gauge_as_it_was_then(client, beat, guest):
    for hours, level in ((-2, 0.4), (0, 0.9), (1, 1.5)):
        Reading.objects.create(gauge=beat.gauge, at=NOON + hours * HOUR, level_m=level, water_c=9.5)
    noted = post(client, beat, guest, caught_at=(NOON + HOUR / 2).isoformat()).json()
    assert (noted["level_m"], noted["water_c"], noted["level_read_at"]) == (0.9, 9.5, "2026-05-06T12:00:00+01:00")


def test_a_reading_too_old_by_then_says_nothing(client, beat, guest):
    Reading.objects.create(gauge=beat.gauge, at=NOON - HOUR - dt.timedelta(seconds=1), level_m=0.4)
    assert post(client, beat, guest).json()["level_m"] is None


def test_what_a_person_read_is_kept(client, beat, guest):
    Reading.objects.create(gauge=beat.gauge, at=NOON, level_m=0.4)
    noted = post(client, beat, guest, level_m=0.55).json()
    assert (noted["level_m"], noted["level_read_at"]) == (0.55, None)


def test_the_part_of_the_day_follows_from_the_time(client, beat, guest):
    DayPartFactory(fishery=beat.fishery)
    late = (NOON + 5 * HOUR).isoformat()
    told = [post(client, beat, guest, caught_at=at).json()["part"] for at in (NOON.isoformat(), late)]
    assert told == ["morning", ""]
    response = post(client, beat, guest, part="midnight")
    assert response.json()["errors"] == {
        "part": ["There is no part of the day called midnight. There is: morning."]
    }  # fmt: skip


def test_a_weight_from_length_is_marked_and_shown_as_a_range(client, beat, guest):
    noted = post(client, beat, guest, length_cm="80.0", length_how="measured", weight_how="from_length").json()
    assert (noted["weight_kg"], noted["weight_how"]) == ("5.12", "from_length")
    assert noted["weight_from_length"] == {
        "low": "4.61", "middle": "5.12", "high": "5.63",
        "words": "estimated from its length at 4.6 to 5.6 kg; not weighed",
    }  # fmt: skip


def test_a_length_alone_makes_no_weight_but_shows_the_range(client, beat, guest):
    noted = post(client, beat, guest, length_cm="80.0").json()
    assert (noted["weight_kg"], noted["weight_from_length"]["middle"]) == (None, "5.12")


def test_a_weighed_fish_needs_no_estimate(client, beat, guest):
    noted = post(client, beat, guest, length_cm="80.0", weight_kg="5.00", weight_how="weighed").json()
    assert noted["weight_from_length"] is None


@pytest.mark.parametrize(
    ("facts", "field"),
    [
        ({"weight_how": "weighed"}, "weight_kg"),
        ({"weight_how": "from_length"}, "length_cm"),
        ({"weight_how": "from_length", "length_cm": "80.0", "weight_kg": "6.00"}, "weight_kg"),
        ({"length_how": "measured"}, "length_cm"),
        ({"weight_kg": "1000"}, "weight_kg"),
        ({"weight_kg": "0"}, "weight_kg"),
        ({"length_cm": "NaN"}, "length_cm"),
        ({"water_c": 95}, "water_c"),
        ({"note": "x" * 301}, "note"),
    ],
)
def test_facts_that_cannot_be_are_refused_at_their_field(client, beat, guest, facts, field):
    response = post(client, beat, guest, **facts)
    assert (response.status_code, list(response.json()["errors"]), Catch.objects.count()) == (400, [field], 0)


def test_the_same_fish_by_two_anglers_is_told_and_both_stand_until_one_is_struck_out(client, beat, guest):
    owner = client_of(keeper(beat.fishery))
    first = post(client, beat, guest, weight_kg="4.10").json()
    second = post(owner, beat, guest_with_account(beat.fishery), weight_kg="4.10").json()
    assert first["cautions"] == []
    assert "A fish just like this one stands in the book" in second["cautions"][-1]
    owner.post(f"/api/v1/catches/{second['id']}/strike-out/", {"reason": "One fish, two rods."}, format="json")
    assert [row["id"] for row in owner.get("/api/v1/catches/").json()["results"]] == [first["id"]]
    assert owner.get(f"/api/v1/catches/{second['id']}/").json()["struck_out_at"]


def test_a_correction_keeps_what_was_said_before(client, beat, guest):
    noted = post(client, beat, guest, weight_kg="4.10", fly="Size 8").json()
    change = {"weight_kg": "3.90", "kind": "1sw", "reason": "Weighed again at the hut."}
    path = f"/api/v1/catches/{noted['id']}/"
    changed = client.patch(path, change, format="json", headers={"If-Match": '"1"'}).json()
    assert [changed[name] for name in ("weight_kg", "kind", "fly", "version")] == ["3.90", "1sw", "Size 8", 2]
    first, second = client.get(f"{path}history/").json()
    assert (first["verb"], second["verb"], second["by"]) == ("note catch", "correct catch", guest.user.pk)
    assert second["before"] == {"weight_kg": "4.10", "kind": "msw"}
    assert second["after"] == {"weight_kg": "3.90", "kind": "1sw", "reason": "Weighed again at the hut."}


def test_a_correction_needs_a_reason_a_change_and_the_version_read(client, beat, guest):
    path = f"/api/v1/catches/{post(client, beat, guest).json()['id']}/"
    asked = [({"sex": "hen"}, "1"), ({"reason": "x"}, "1"), ({"sex": "hen", "reason": "x"}, "9")]
    got = [client.patch(path, body, format="json", headers={"If-Match": version}) for body, version in asked]
    assert [response.status_code for response in got] == [400, 400, 412]
    assert Catch.objects.get().sex == ""


def test_a_new_length_reckons_the_weight_anew(client, beat, guest):
    noted = post(client, beat, guest, length_cm="80.0", weight_how="from_length").json()
    change = {"length_cm": "90.0", "reason": "misread"}
    path = f"/api/v1/catches/{noted['id']}/"
    changed = client.patch(path, change, format="json", headers={"If-Match": "1"}).json()
    assert (changed["weight_kg"], changed["length_cm"]) == ("7.29", "90.0")


def test_a_fish_moved_to_another_hour_gets_that_hour_s_water(client, beat, guest):
    for hours, level in ((-2, 0.4), (0, 0.9)):
        Reading.objects.create(gauge=beat.gauge, at=NOON + hours * HOUR, level_m=level)
    path = f"/api/v1/catches/{post(client, beat, guest).json()['id']}/"
    change = {"caught_at": (NOON - 2 * HOUR).isoformat(), "reason": "before lunch"}
    assert client.patch(path, change, format="json", headers={"If-Match": "1"}).json()["level_m"] == 0.4


def test_a_fish_struck_out_cannot_be_corrected_and_leaves_the_return(client, beat, guest):
    noted = post(client, beat, guest, weight_kg="4.10").json()
    path = f"/api/v1/catches/{noted['id']}/"
    for _ in range(2):
        assert client.post(f"{path}strike-out/", {"reason": "twice"}, format="json").status_code == 200
    response = client.patch(path, {"sex": "hen", "reason": "x"}, format="json", headers={"If-Match": "2"})
    assert (response.status_code, response.json()["type"]) == (409, "/api/v1/problems/struck-out")
    assert season_return(beat.fishery, 2026, now=NOON).totals["released"]["msw"].number == 0


def test_kelts_and_foreign_fish_are_in_the_book_and_not_in_the_return(beat):
    for kind in ("kelt", "non_native", "msw"):
        CatchFactory(beat=beat, kind=kind)
    made = season_return(beat.fishery, 2026, now=timezone.now())
    numbers = {kind: cell.number for kind, cell in made.totals["released"].items() if cell.number}
    assert numbers == {"msw": 1}


def test_an_unlawful_fish_is_flagged_for_the_owner(client, beat, guest):
    sunday = dt.datetime(2026, 5, 3, 11, tzinfo=dt.UTC)
    flagged = post(client, beat, guest, caught_at=sunday.isoformat()).json()
    post(client, beat, guest)
    assert flagged["flag"].startswith("Caught on a closed day. Nobody may fish for salmon on a Sunday.")
    owner = client_of(keeper(beat.fishery))
    rows = owner.get("/api/v1/catches/", {"flagged": "true"}).json()["results"]
    assert [row["id"] for row in rows] == [flagged["id"]]


@pytest.mark.parametrize(
    ("asked", "found"),
    [
        ({"season": 2026}, {1, 2, 4}),
        ({"season": 2026, "month": 5}, {1, 4}),
        ({"species": "salmon"}, {1, 3}),
        ({"species": "sea_trout"}, {2}),
        ({"species": "uncounted"}, {4}),
        ({"fate": "kept"}, {2}),
        ({"season": 2026, "month": 5, "species": "salmon", "fate": "released"}, {1}),
    ],
)
def test_the_book_is_searched_by_season_month_species_and_fate(beat, asked, found):
    made = {
        1: CatchFactory(beat=beat),
        2: CatchFactory(beat=beat, caught_at=NOON + 60 * 24 * HOUR, kind="finnock", fate="kept"),
        3: CatchFactory(beat=beat, caught_at=NOON - 365 * 24 * HOUR, kind="1sw"),
        4: CatchFactory(beat=beat, kind="kelt", weight_kg=Decimal("2.00")),
    }
    CatchFactory()
    rows = client_of(keeper(beat.fishery)).get("/api/v1/catches/", asked).json()["results"]
    assert {row["id"] for row in rows} == {made[number].pk for number in found}


@pytest.mark.parametrize("asked", [{"season": "last"}, {"month": 13}, {"species": "shark"}, {"colour": "blue"}])
def test_a_search_nobody_understands_is_refused(beat, asked):
    response = client_of(keeper(beat.fishery)).get("/api/v1/catches/", asked)
    assert (response.status_code, list(response.json()["errors"])) == (400, list(asked))
