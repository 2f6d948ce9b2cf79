"""An angler's own season: their days and fish, and nobody else's."""

import csv
import datetime as dt
import io
from decimal import Decimal

import pytest

from tests.factories import (
    NOON,
    BeatFactory,
    CatchFactory,
    GuestFactory,
    OutingFactory,
    PoolFactory,
    ReturnDueFactory,
    RodDayFactory,
    client_of,
    guest_with_account,
    keeper,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def beat():
    return BeatFactory(name="Upper", fishery__slug="upper-water")


@pytest.fixture
def guest(beat):
    """One who held a rod on two days, checked in on a third, and has a fish of the second and one of a fourth."""
    guest = guest_with_account(beat.fishery, name="Una")
    for day in (4, 6):
        RodDayFactory(let__beat=beat, day=dt.date(2026, 5, day), guest=guest)
    out = NOON + dt.timedelta(days=1)
    back = {"due_back_at": out + dt.timedelta(hours=4), "checked_out_at": out + dt.timedelta(hours=1)}
    OutingFactory(beat=beat, guest=guest, checked_in_at=out, **back)
    pool = PoolFactory(beat=beat, name="=Alder")
    CatchFactory(beat=beat, guest=guest, pool=pool, fly="=cmd|x", length_cm=Decimal("77.5"))
    CatchFactory(beat=beat, guest=guest, kind="kelt", caught_at=NOON + dt.timedelta(days=2), weight_kg=None)
    return guest


@pytest.fixture
def others(beat):
    """What could leak: another guest's fish and day, a fish struck out, another season."""
    other = GuestFactory(fishery=beat.fishery, name="Somebody Else")
    CatchFactory(beat=beat, guest=other)
    RodDayFactory(let__beat=beat, day=dt.date(2026, 5, 8), guest=other)


def path(guest, season=2026):
    return f"/api/v1/guests/{guest.pk}/record/{season}/"


def test_the_record_has_each_day_once_and_blank_ones_too(guest, others):
    made = client_of(guest.user).get(path(guest)).json()
    assert [(row["day"], row["let"], row["seen"], row["fish"]) for row in made["days"]] == [
        ("2026-05-04", True, False, 0), ("2026-05-06", True, False, 1), ("2026-05-07", False, True, 0),
        ("2026-05-08", False, False, 0),
    ]  # fmt: skip
    assert (made["rod_days"], made["fishery"], made["season"]) == (4, "upper-water", 2026)


def test_the_record_has_the_guest_s_fish_and_their_sums(guest, others, beat):
    CatchFactory(beat=beat, guest=guest, struck_out_at=NOON)
    CatchFactory(beat=beat, guest=guest, caught_at=NOON - dt.timedelta(days=365))
    made = client_of(guest.user).get(path(guest)).json()
    assert [(fish["kind"], fish["weight_kg"], fish["pool"]) for fish in made["fish"]] == [
        ("msw", "4.50", "=Alder"),
        ("kelt", None, None),
    ]
    assert made["totals"] == [
        {"kind": "kelt", "fate": "released", "number": 1, "weight_kg": None, "unweighed": 1},
        {"kind": "msw", "fate": "released", "number": 1, "weight_kg": "4.50", "unweighed": 0},
    ]


def test_the_csv_has_a_line_a_fish_and_one_a_blank_day_and_no_formula(guest, others):
    response = client_of(guest.user).get(path(guest), {"format": "csv"})
    _, *rows = csv.reader(io.StringIO(response.content.decode()))
    assert rows == [
        ["2026-05-04", "Upper", "1", "", "", "", "", "", "", "", ""],
        ["2026-05-06", "Upper", "1", "'=Alder", "msw", "released", "4.50", "", "77.5", "", "'=cmd|x"],
        ["2026-05-07", "Upper", "1", "", "", "", "", "", "", "", ""],
        ["2026-05-08", "Upper", "1", "", "kelt", "released", "", "", "", "", ""],
    ]


def test_two_fish_of_a_day_are_one_rod_day(beat):
    guest = guest_with_account(beat.fishery)
    CatchFactory.create_batch(2, beat=beat, guest=guest)
    response = client_of(guest.user).get(path(guest), {"format": "csv"})
    _, *rows = csv.reader(io.StringIO(response.content.decode()))
    assert [row[2] for row in rows] == ["1", "0"]


def test_whoever_shares_a_rod_has_the_day_and_not_the_other_s_name(beat, guest):
    sharer = guest_with_account(beat.fishery)
    guest.rod_days.update(sharer=sharer)
    response = client_of(sharer.user).get(path(sharer))
    assert (response.json()["rod_days"], b"Una" in response.content) == (2, False)


def test_the_record_says_by_when_the_owner_asks_for_it(guest):
    ReturnDueFactory(fishery=guest.fishery, season=2026, anglers_due_on=dt.date(2026, 11, 30))
    assert client_of(guest.user).get(path(guest)).json()["due_on"] == "2026-11-30"


def test_only_the_guest_and_the_keepers_find_it(guest, beat):
    readers = [guest.user, keeper(beat.fishery), keeper(beat.fishery, "ghillie")]
    assert [client_of(who).get(path(guest)).status_code for who in readers] == [200, 200, 200]
    others = [guest_with_account(beat.fishery).user, keeper(BeatFactory().fishery)]
    assert [client_of(who).get(path(guest)).status_code for who in others] == [404, 404]


def test_an_empty_season_is_an_empty_record_and_an_odd_one_is_refused(guest):
    client = client_of(guest.user)
    assert client.get(path(guest, 2020)).json()["rod_days"] == 0
    assert client.get(path(guest, 1066)).status_code == 400
