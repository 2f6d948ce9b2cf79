"""The pace of a pool on the wire."""

import datetime as dt

import pytest

from beats.fishery_faults import FaultyFishery, parse
from tests.beats.test_fishery_file import EXAMPLE
from tests.factories import DayPartFactory, PoolFactory, client_of, guest_with_account

pytestmark = pytest.mark.django_db


@pytest.fixture
def pool():
    """A hundred metres in a fishery with a morning of four hours and an evening of one and a half."""
    pool = PoolFactory(length_m=100, rods_at_once=2)
    DayPartFactory(fishery=pool.beat.fishery, slug="evening", starts=dt.time(19, 30), ends=dt.time(21))
    DayPartFactory(fishery=pool.beat.fishery, slug="morning", starts=dt.time(9), ends=dt.time(13))
    return pool


def ask(pool, **query):
    user = guest_with_account(pool.beat.fishery).user
    return client_of(user).get(f"/api/v1/pools/{pool.pk}/pace/", query)


def test_every_part_of_the_day_has_a_row(pool):
    body = ask(pool).json()
    assert (body["casts"], body["minutes_down"], body["minutes_until_next"]) == (57, 71.2, 32.5)
    assert body["parts"] == [
        {
            "part": "morning", "minutes": 240, "down_in_time": True, "holds": 3,
            "starts": [
                {"minutes": 0.0, "at": "09:00:00"},
                {"minutes": 32.5, "at": "09:33:00"},  # to the next whole minute: never early
                {"minutes": 65.0, "at": "10:05:00"},
            ],
        },
        # 72 casts in 90 minutes, 57 to get down: the second would start 26 casts in, and 15 are left.
        {
            "part": "evening", "minutes": 90, "down_in_time": True, "holds": 1,
            "starts": [{"minutes": 0.0, "at": "19:30:00"}],
        },
    ]  # fmt: skip


def test_the_notes_say_what_it_rests_on_and_what_the_owner_allows(pool):
    source, limit = ask(pool).json()["notes"]
    assert "common practice, no source" in source
    assert limit == "The owner allows 2 rods on it at once."


def test_a_length_of_one_s_own_takes_the_place_of_the_parts(pool):
    (row,) = ask(pool, part_minutes=60).json()["parts"]
    assert row == {
        "part": None, "minutes": 60, "down_in_time": False, "holds": 1, "starts": [{"minutes": 0.0, "at": None}]
    }  # fmt: skip


def test_a_pool_too_long_and_a_boat_are_remarked_on(pool):
    pool.length_m, pool.boat = 2000, True
    pool.save()
    notes = ask(pool).json()["notes"]
    assert [note.split(":")[0] for note in notes[1:]] == [
        "This pool is fished from a boat", "It is too long to be fished down in every part shown"
    ]  # fmt: skip


def test_what_the_pool_says_itself_goes_before_common_practice(pool):
    pool.step_m, pool.short_casts = 1.0, 0
    pool.save()
    body = ask(pool).json()
    assert [body[name] for name in ("step_m", "cycle_s", "short_casts", "behind_m")] == [1.0, 75.0, 0, 40.0]
    assert body["casts"] == 101


@pytest.mark.parametrize("minutes", ["0", "1441", "soon", "1.5", ""])
def test_a_part_that_is_none_is_refused_by_name(pool, minutes):
    response = ask(pool, part_minutes=minutes)
    assert response.status_code == 400
    assert list(response.json()["errors"]) == ["part_minutes"]


def test_an_unknown_question_is_refused(pool):
    assert list(ask(pool, minutes="60").json()["errors"]) == ["minutes"]


def test_the_pool_itself_tells_its_pace(pool):
    user = guest_with_account(pool.beat.fishery).user
    body = client_of(user).get(f"/api/v1/pools/{pool.pk}/").json()
    assert {name: body[name] for name in ("step_m", "cycle_s", "short_casts", "behind_m")} == {
        "step_m": None, "cycle_s": None, "short_casts": None, "behind_m": None
    }  # fmt: skip


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("step_m = 0", "step_m: 0 will not do; write metres stepped between casts, 0.1 to 20"),
        ("cycle_s = 2", "cycle_s: 2 will not do; write seconds for one cast"),
        ("short_casts = 1.5", "short_casts: 1.5 will not do; write casts at the neck"),
        ("behind_m = nan", "behind_m: nan will not do; write metres the next rod keeps behind"),
    ],
)
def test_a_wrong_pace_in_the_file_is_told_with_what_to_write(line, says):
    name = line.split(" =")[0]
    kept = next(row for row in EXAMPLE.splitlines() if row.startswith(f"{name} ="))
    with pytest.raises(FaultyFishery) as refused:
        parse(EXAMPLE.replace(kept, line))
    assert says in str(refused.value.faults[0])
