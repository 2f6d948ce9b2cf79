"""Each list holds exactly what its reader may see, though two waters stand side by side."""

import pytest

from tests.config.world import build
from tests.factories import RecallCallFactory, client_of

pytestmark = pytest.mark.django_db

OWN = {"guests": "guest", "lets": "let", "rod-days": "rod_day", "rotas": "rota", "turns": "turn"}
OWN |= {"outings": "outing", "catches": "catch", "plans": "plan", "recalls": "recall"}
OWN |= {"offers": "offer", "waiting": "waiting"}
KEPT = OWN | {"same-weeks": "same_week"}
KEPT |= {"alarms": "alarm", "duties": "duty", "drills": "drill", "incidents": "incident"}
KEPT |= {"angler-messages": "angler_message"}
WATER = {"beats": "beat", "gauges": "gauge", "warnings": "warning"}


@pytest.fixture
def world():
    build()
    world = build()
    build()
    return world


def listed(world, who, place):
    body = client_of(world.people[who]).get(f"/api/v1/{place}/").json()
    rows = body if isinstance(body, list) else body["results"]
    return sorted(row["id"] for row in rows)


@pytest.mark.parametrize("who", ["guest", "other", "ghillie", "owner"])
@pytest.mark.parametrize("place", WATER)
def test_every_member_sees_the_water_of_their_fishery(world, who, place):
    held = {world.rows[WATER[place]].pk} | ({world.rows["quiet_beat"].pk} if place == "beats" else set())
    assert listed(world, who, place) == sorted(held)


@pytest.mark.parametrize("who", ["ghillie", "owner"])
@pytest.mark.parametrize("place", KEPT)
def test_keepers_see_all_of_their_fishery_and_no_other(world, who, place):
    more = {"guests": "other", "lets": "hold"}
    kept = {world.rows[name].pk for name in (KEPT[place], more.get(place, KEPT[place]))}
    assert listed(world, who, place) == sorted(kept)


@pytest.mark.parametrize("place", OWN)
def test_a_guest_sees_their_own_rows(world, place):
    own = [world.rows[OWN[place]].pk, *([world.rows["hold"].pk] if place == "lets" else [])]
    assert listed(world, "guest", place) == sorted(own)


@pytest.mark.parametrize("place", KEPT)
def test_another_guest_of_the_same_water_sees_none_of_them(world, place):
    assert listed(world, "other", place) == ([world.rows["other"].pk] if place == "guests" else [])


@pytest.mark.parametrize("who", ["guest", "other", "ghillie", "owner"])
def test_a_phone_s_push_address_is_listed_to_its_own_person_alone(world, who):
    assert listed(world, who, "push-addresses") == ([world.rows["push_address"].pk] if who == "guest" else [])


@pytest.mark.parametrize("place", [*WATER, *KEPT, "pools", "push-addresses"])
def test_the_owner_of_another_water_sees_nothing_here(world, place):
    assert listed(world, "stranger", place) == []


def test_a_guest_sees_nothing_of_what_last_year_s_weeks_became(world):
    assert listed(world, "guest", "same-weeks") == []


@pytest.mark.parametrize("place", ["alarms", "duties", "drills", "incidents"])
def test_a_guest_sees_nothing_of_the_watch_not_even_their_own_alarm(world, place):
    assert listed(world, "guest", place) == []


def test_a_guest_called_off_the_water_sees_their_own_call_alone(world):
    RecallCallFactory(recall=world.rows["recall"])
    calls = {
        who: client_of(world.people[who]).get("/api/v1/recalls/").json()["results"] for who in ("guest", "owner")
    }
    assert [call["outing"] for call in calls["guest"][0]["calls"]] == [world.rows["outing"].pk]
    assert len(calls["owner"][0]["calls"]) == 2


@pytest.mark.parametrize(("place", "row"), [("ledger", "entry"), ("feeds", "feed")])
def test_money_and_calendars_are_the_guest_s_and_the_owner_s_alone(world, place, row):
    seen = {who: listed(world, who, place) for who in ("guest", "owner", "other", "ghillie", "stranger")}
    mine = [world.rows[row].pk]
    assert seen == {"guest": mine, "owner": mine, "other": [], "ghillie": [], "stranger": []}


@pytest.mark.parametrize("who", ["guest", "other", "ghillie", "owner"])
def test_a_fishery_is_listed_for_its_members_alone(world, who):
    body = client_of(world.people[who]).get("/api/v1/fisheries/").json()
    assert [row["slug"] for row in body["results"]] == [world.rows["fishery"].slug]


@pytest.mark.parametrize("who", ["ghillie", "owner"])
def test_the_tally_counts_this_water_alone(world, who):
    assert listed(world, who, f"fisheries/{world.rows['fishery'].slug}/tally") == [world.rows["outing"].pk]


def test_who_am_i_names_my_own_parts(world):
    body = client_of(world.people["ghillie"]).get("/api/v1/me/").json()
    assert [(part["fishery"], part["role"]) for part in body["parts"]] == [
        (world.rows["fishery"].slug, "ghillie")
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("place", "name"), [("guests", "fishery__slug"), ("rod-days", "let"), ("catches", "beat")]
)
def test_a_filter_cannot_open_what_is_closed(world, place, name):
    value = {
        "fishery__slug": world.rows["fishery"].slug,
        "let": world.rows["let"].pk,
        "beat": world.rows["beat"].pk,
    }
    response = client_of(world.people["stranger"]).get(f"/api/v1/{place}/", {name: value[name]})
    assert response.json()["results"] == []
