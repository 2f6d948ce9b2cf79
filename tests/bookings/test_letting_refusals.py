"""Lets that are refused: the reason is named, and nothing is written."""

import datetime as dt

import pytest

from beats.models import AuditEntry, FisheryRule
from bookings.models import Let, RodDay
from bookings.services.lets import BadLet, DayClosed, GuestTaken, RodsTaken, let_rods
from tests.factories import NOON, BeatFactory, GuestFactory, RodDayFactory, keeper

pytestmark = pytest.mark.django_db

MONDAY, SATURDAY, SUNDAY = (dt.date(2026, 5, day) for day in (4, 9, 10))


@pytest.fixture
def beat():
    return BeatFactory(rods=4, name="Upper")


def refused(kind, beat, **asked):
    """Ask for a let that is refused; what is written stays as it was."""
    facts = {"first_on": MONDAY, "last_on": SATURDAY, "rods": 2, "now": NOON}
    facts |= {"booker": GuestFactory(fishery=beat.fishery), "by": keeper(beat.fishery)}
    before = (Let.objects.count(), RodDay.objects.count())
    with pytest.raises(kind) as caught:
        let_rods(beat, **(facts | asked))
    assert (Let.objects.count(), RodDay.objects.count()) == before
    assert AuditEntry.objects.count() == 0
    return caught.value


def test_a_sunday_in_the_run_is_refused_with_the_law(beat):
    refusal = refused(DayClosed, beat, last_on=dt.date(2026, 5, 11))
    assert refusal.errors == {"2026-05-10": ["Nobody may fish for salmon on a Sunday."]}
    assert refusal.sentence == (
        "Sunday 10 May 2026: Nobody may fish for salmon on a Sunday. Leave closed days out and ask again."
    )


def test_every_closed_day_is_named_with_its_own_reason(beat):
    """SSI 2014/327, Schedule, entry 51: rods until 31 October; 1 November 2026 is a Sunday besides."""
    refusal = refused(DayClosed, beat, first_on=dt.date(2026, 10, 31), last_on=dt.date(2026, 11, 2))
    assert list(refusal.errors) == ["2026-11-01", "2026-11-02"]
    assert refusal.errors["2026-11-02"][0].startswith("Closed: annual close time of the Wester Ross district")
    assert "(2 closed days in all.)" in refusal.sentence


def test_a_house_rule_closes_a_day_that_the_law_leaves_open(beat):
    FisheryRule.objects.create(
        fishery=beat.fishery, status="closed", start="05-05", end="05-06", reason="Smolts are running."
    )
    refusal = refused(DayClosed, beat)
    reason = "House rule, 5 May to 6 May: Smolts are running."
    assert refusal.errors == {"2026-05-05": [reason], "2026-05-06": [reason]}


def test_release_only_days_may_be_let(beat):
    FisheryRule.objects.create(
        fishery=beat.fishery, status="release_only", start="05-05", end="05-06", reason="Every fish goes back."
    )
    facts = {"booker": GuestFactory(fishery=beat.fishery), "by": keeper(beat.fishery), "now": NOON}
    let, _ = let_rods(beat, first_on=MONDAY, last_on=SATURDAY, rods=1, **facts)
    assert let.rod_days.count() == 6


def test_full_days_are_named_with_what_is_left(beat):
    for rod in (1, 2, 3):
        RodDayFactory(let__beat=beat, day=dt.date(2026, 5, 5), rod=rod)
    for rod in (1, 2, 3, 4):
        RodDayFactory(let__beat=beat, day=dt.date(2026, 5, 7), rod=rod)
    refusal = refused(RodsTaken, beat)
    assert refusal.errors == {"2026-05-05": ["1 of 4 rods free."], "2026-05-07": ["0 of 4 rods free."]}
    assert refusal.sentence == (
        "Upper has too few rods free. Tuesday 5 May: 1 left; Thursday 7 May: none left. "
        "Choose other days or fewer rods."
    )


@pytest.mark.parametrize("elsewhere", [True, False])
def test_a_guest_fishes_one_rod_a_day_on_whichever_beat(beat, elsewhere):
    guest = GuestFactory(fishery=beat.fishery, name="Ailsa Roe")
    where = BeatFactory(fishery=beat.fishery, name="Lower") if elsewhere else beat
    RodDayFactory(let__beat=where, day=dt.date(2026, 5, 6), rod=1, guest=guest)
    refusal = refused(GuestTaken, beat, guests=[guest])
    assert refusal.sentence == f"Ailsa Roe already fishes {where.name} on Wednesday 6 May."


@pytest.mark.parametrize(
    ("asked", "field"),
    [
        ({"rods": 5}, "rods"),
        ({"last_on": dt.date(2026, 5, 2)}, "last_on"),
        ({"last_on": dt.date(2026, 6, 4)}, "last_on"),
    ],
)
def test_a_let_that_makes_no_sense_names_its_field(beat, asked, field):
    assert list(refused(BadLet, beat, **asked).errors) == [field]


def test_more_guests_than_rods_or_one_twice_is_refused(beat):
    first, second = GuestFactory.create_batch(2, fishery=beat.fishery)
    assert list(refused(BadLet, beat, rods=1, guests=[first, second]).errors) == ["guests"]
    assert list(refused(BadLet, beat, rods=2, guests=[first, first]).errors) == ["guests"]
