"""Rod-days of the return while lets are held, changed, split, shared and cancelled around them."""

import datetime as dt

import pytest

from bookings.services.changes import change_let, split_let, transfer_let
from bookings.services.holds import cancel_let, release_lapsed
from bookings.services.lets import let_rods
from sessions.anglers import angler_record
from sessions.models import Plan
from sessions.queries import rods_let
from sessions.returns import season_return
from sessions.seasons import season_statistics
from sessions.services.plans import begin, call_off
from tests.factories import (
    NOON,
    BeatFactory,
    CatchFactory,
    GuestFactory,
    LetFactory,
    OutingFactory,
    PlanFactory,
    RodDayFactory,
)

pytestmark = pytest.mark.django_db
MONDAY = dt.date(2026, 5, 4)
WEDNESDAY = MONDAY + dt.timedelta(days=2)
SATURDAY = MONDAY + dt.timedelta(days=5)
BEFORE = NOON - dt.timedelta(days=20)
NEW_YEAR = dt.datetime(2027, 1, 2, 12, tzinfo=dt.UTC)


@pytest.fixture
def beat():
    return BeatFactory(fishery__slug="upper-water", rods=6)


@pytest.fixture
def week(beat, owner):
    """Two rods, Monday to Saturday; it is Wednesday noon when a test begins."""
    booker = GuestFactory(fishery=beat.fishery)
    let, _ = let_rods(
        beat, booker=booker, first_on=MONDAY, last_on=SATURDAY, rods=2, by=owner, now=BEFORE
    )  # fmt: skip
    return let


def may(beat):
    made = season_return(beat.fishery, 2026, now=NEW_YEAR)
    return next(each for each in made.effort if each.month == 5)


def counted(beat):
    return may(beat).counted


def test_a_week_of_two_rods_is_twelve_rod_days(beat, week):
    assert (counted(beat), rods_let(beat.fishery).count()) == (12, 12)


def test_a_hold_is_no_effort_until_it_is_confirmed(beat, week):
    hold = LetFactory(beat=beat, status="held", first_on=WEDNESDAY, last_on=WEDNESDAY)
    RodDayFactory(let=hold, day=WEDNESDAY, rod=5)
    stated = season_statistics(beat.fishery, 2026, species="salmon", now=NEW_YEAR)
    assert (counted(beat), stated.overall.rod_days) == (12, 12)
    release_lapsed(NEW_YEAR)
    assert counted(beat) == 12


def test_a_let_cancelled_half_way_keeps_the_days_it_was_fished(beat, week, owner):
    cancel_let(week, by=owner, now=NOON)
    assert counted(beat) == 2 * 2


def test_a_let_cut_short_counts_what_is_left(beat, week, owner):
    change_let(week, facts={"last_on": WEDNESDAY}, version=week.version, by=owner, now=NOON)
    assert counted(beat) == 2 * 3


def test_a_let_handed_on_or_split_counts_once(beat, week, owner):
    other, third = GuestFactory.create_batch(2, fishery=beat.fishery)
    transfer_let(week, to=other, by=owner, now=NOON)
    split_let(week, booker=third, from_on=WEDNESDAY + dt.timedelta(days=1), by=owner, now=NOON)
    assert counted(beat) == 12


def shared_day(beat, *, guest_trout, sharer_trout):
    guest, sharer = GuestFactory.create_batch(2, fishery=beat.fishery)
    RodDayFactory(let__beat=beat, guest=guest, sharer=sharer, day=WEDNESDAY)
    for each, trout in ((guest, guest_trout), (sharer, sharer_trout)):
        OutingFactory(beat=beat, guest=each, sea_trout_only=trout)


@pytest.mark.parametrize(
    ("guest_trout", "sharer_trout", "rod_days"),
    [(True, True, 0), (True, False, 1), (False, True, 1), (False, False, 1)],
)
def test_a_shared_rod_counts_when_either_fished_for_salmon(beat, guest_trout, sharer_trout, rod_days):
    shared_day(beat, guest_trout=guest_trout, sharer_trout=sharer_trout)
    assert counted(beat) == rod_days


def begun(beat):
    plan = PlanFactory(beat=beat)
    assert begin(plan.pk, now=NOON)
    return Plan.objects.get(pk=plan.pk)


def test_an_outing_begun_by_its_plan_is_seen_only_once_its_angler_is(beat, owner):
    plan = begun(beat)
    assert may(beat).checked_in == 0
    plan.outing.checked_out_at = NOON
    plan.outing.save()
    assert may(beat).checked_in == 1
    assert [day.seen for day in angler_record(plan.guest, 2026, now=NEW_YEAR).days] == [True]


def test_a_plan_called_off_was_never_on_the_water(beat, owner):
    plan = begun(beat)
    call_off(plan, by=owner, now=NOON + dt.timedelta(hours=1))
    assert may(beat).checked_in == 0
    assert angler_record(plan.guest, 2026, now=NEW_YEAR).days == []


def unnamed_day(beat, rods, *, trout=0, salmon=0, named=0):
    """Rods let without a name on one day, and anglers seen who hold no named rod."""
    for rod in range(1, rods + 1):
        RodDayFactory(let__beat=beat, guest=None, rod=rod, day=WEDNESDAY)
    for rod in range(rods + 1, rods + named + 1):
        guest = GuestFactory(fishery=beat.fishery)
        RodDayFactory(let__beat=beat, guest=guest, rod=rod, day=WEDNESDAY)
        OutingFactory(beat=beat, guest=guest)
    for only in [True] * trout + [False] * salmon:
        OutingFactory(beat=beat, sea_trout_only=only)


@pytest.mark.parametrize(
    ("day", "rod_days"),
    [
        ({"rods": 1, "trout": 1}, 0),
        ({"rods": 3, "trout": 1}, 2),
        ({"rods": 1, "trout": 1, "salmon": 1}, 1),
        ({"rods": 2, "trout": 1, "salmon": 1}, 1),
        ({"rods": 2, "trout": 3}, 0),
        ({"rods": 2, "trout": 1, "named": 1}, 2),
    ],
)
def test_a_rod_nobody_named_leaves_the_salmon_days_where_sea_trout_alone_were_fished_for(beat, day, rod_days):
    """Fishing for sea trout alone does not count (FAQ of the rod effort survey, Topic Sheet 103)."""
    unnamed_day(beat, **day)
    assert counted(beat) == rod_days


def test_a_salmon_on_an_unnamed_rod_brings_its_day_back(beat):
    unnamed_day(beat, 1)
    outing = OutingFactory(beat=beat, sea_trout_only=True)
    assert counted(beat) == 0
    CatchFactory(beat=beat, guest=outing.guest)
    assert counted(beat) == 1


def test_a_sea_trout_day_on_another_beat_takes_no_unnamed_rod_of_this_one(beat):
    unnamed_day(beat, 1)
    OutingFactory(beat=BeatFactory(fishery=beat.fishery), guest__fishery=beat.fishery, sea_trout_only=True)
    assert counted(beat) == 1
