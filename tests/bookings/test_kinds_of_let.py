"""Day, week, whole-beat and season lets: which days and rods each takes."""

import datetime as dt

import pytest

from bookings.models import Let
from bookings.services.lets import BadLet, DayClosed
from tests.bookings.book import MONDAY, SATURDAY, WEEK, claims, let
from tests.factories import NOON, BeatFactory, client_of, keeper

pytestmark = pytest.mark.django_db


@pytest.fixture
def beat():
    return BeatFactory(rods=3, name="Upper")


def test_a_week_let_is_monday_to_saturday(beat):
    assert [day for day, *_ in claims(let(beat, kind="week", rods=1))] == WEEK


@pytest.mark.parametrize("asked", [{"last_on": dt.date(2026, 5, 15)}, {"first_on": dt.date(2026, 5, 12)}])
def test_a_part_of_a_week_is_no_week(beat, asked):
    with pytest.raises(BadLet, match="2026-05-11 to 2026-05-16"):
        let(beat, kind="week", **asked)


def test_the_first_week_is_what_the_season_leaves_of_it(beat):
    """SSI 2014/327, Schedule, entry 51: rods from 11 February, in 2026 a Wednesday."""
    made = let(beat, kind="week", first_on=dt.date(2026, 2, 11), last_on=dt.date(2026, 2, 14))
    assert made.rod_days.count() == 8


def test_a_week_that_is_closed_altogether_says_so(beat):
    with pytest.raises(DayClosed):
        let(beat, kind="week", first_on=dt.date(2026, 12, 7), last_on=dt.date(2026, 12, 12))


def test_a_whole_beat_is_every_rod(beat):
    assert let(beat, kind="whole_beat", rods=3).rod_days.count() == 18
    with pytest.raises(BadLet, match="The whole of Upper is 3 rods"):
        let(beat, kind="whole_beat", rods=2)


def test_season_rods_are_every_thursday_between_two_dates(beat):
    made = let(beat, kind="season", weekday=3, first_on=dt.date(2026, 5, 1), last_on=dt.date(2026, 9, 30), rods=1)
    days = [day for day, *_ in claims(made)]
    assert (len(days), days[0], days[-1]) == (21, dt.date(2026, 5, 7), dt.date(2026, 9, 24))
    assert {day.weekday() for day in days} == {3}
    let(beat, rods=3, last_on=MONDAY)  # the other days are free


@pytest.mark.parametrize(
    ("asked", "text"),
    [
        ({"kind": "season"}, "which weekday"),
        ({"weekday": 3}, "Only season rods"),
        ({"kind": "season", "weekday": 6}, "Sunday is not sold"),
        ({"kind": "season", "weekday": 5, "last_on": dt.date(2026, 5, 15)}, "does not fall"),
        ({"kind": "season", "weekday": 3, "last_on": dt.date(2028, 5, 15)}, "a year at most"),
    ],
)
def test_season_rods_that_make_no_sense_are_refused_by_field(beat, asked, text):
    with pytest.raises(BadLet, match=text) as caught:
        let(beat, **asked)
    assert list(caught.value.errors) in (["weekday"], ["last_on"])
    assert Let.objects.count() == 0


BODY = {"first_on": str(MONDAY), "last_on": str(SATURDAY), "rods": 1}


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"rods": -1}, "rods"), ({"rods": 0}, "rods"), ({"rods": "NaN"}, "rods"), ({"kind": "fortnight"}, "kind"),
        ({"first_on": "2026-02-29"}, "first_on"), ({"first_on": "0001-01-01"}, "first_on"),
        ({"weekday": 7}, "weekday"),
    ],
)  # fmt: skip
def test_nonsense_over_the_wire_is_named_by_its_field(beat, wrong, field):
    booker = let(beat).booker.pk
    body = BODY | {"beat": beat.pk, "booker": booker} | wrong
    response = client_of(keeper(beat.fishery)).post("/api/v1/lets/", body, format="json")
    assert (response.status_code, list(response.json()["errors"])) == (400, [field])


def test_a_twenty_ninth_of_february_that_exists_is_let(beat):
    leap = dt.date(2028, 2, 29)
    assert [day for day, *_ in claims(let(beat, first_on=leap, last_on=leap, rods=1))] == [leap]


def test_a_let_over_a_sunday_is_refused_over_the_wire_with_the_day(beat):
    body = BODY | {"beat": beat.pk, "booker": let(beat).booker.pk, "last_on": "2026-05-18"}
    response = client_of(keeper(beat.fishery)).post("/api/v1/lets/", body, format="json")
    assert (response.status_code, response.json()["errors"]) == (
        409, {"2026-05-17": ["Nobody may fish for salmon on a Sunday."]},
    )  # fmt: skip


def test_a_hold_over_the_wire_says_when_it_runs_out(beat):
    body = BODY | {"beat": beat.pk, "booker": let(beat, now=NOON).booker.pk, "hold": True}
    told = client_of(keeper(beat.fishery)).post("/api/v1/lets/", body, format="json").json()
    assert (told["status"], told["version"], told["expires_at"] is None) == ("held", 1, False)
