"""The season's return: fish by class and fate, and rod-days, month by month."""

import datetime as dt
from decimal import Decimal

import pytest

from bookings.services.lets import cancel_let, let_rods
from sessions.models import Catch
from sessions.returns import season_return
from tests.factories import (
    NOON,
    BeatFactory,
    CatchFactory,
    FisheryFactory,
    GuestFactory,
    OutingFactory,
    RodDayFactory,
    keeper,
)
from tests.sessions.season_records import stated

pytestmark = pytest.mark.django_db

NEW_YEAR = dt.datetime(2027, 1, 2, 12, 0, tzinfo=dt.UTC)
MAY = {4, 5, 6, 7, 8, 9, 11, 12, 13, 14}  # ten days of May 2026 without a Sunday


@pytest.fixture
def beat():
    return BeatFactory(rods=4)


def caught(beat, month, kind, fate, *weights):
    at = dt.datetime(2026, month, 5, 12, 0, tzinfo=dt.UTC)
    for weight in weights:
        CatchFactory(beat=beat, caught_at=at, kind=kind, fate=fate, weight_kg=weight and Decimal(weight))


def cells(month):
    """What is not zero of a month, as {(fate, kind): (number, kilograms)}."""
    return {
        (fate, kind): (cell.number, cell.weight_kg)
        for fate, kinds in month.cells.items()
        for kind, cell in kinds.items()
        if cell.number
    }


def months(made):
    return {month.name: month for month in made.months}


def test_two_rods_on_each_of_ten_days_are_twenty_rod_days(beat):
    """Marine Scotland Topic Sheet 103: rods fished each day, summed over the month."""
    for day in MAY:
        for rod in (1, 2):
            RodDayFactory(let__beat=beat, day=dt.date(2026, 5, day), rod=rod)
    made = season_return(beat.fishery, 2026, now=NEW_YEAR)
    assert (months(made)["May"].rod_days, made.rod_days) == (20, 20)


def test_fish_stand_in_their_month_class_and_fate(beat):
    caught(beat, 4, "msw", "released", "4.50", "6.20")
    caught(beat, 7, "1sw", "kept", "2.10")
    caught(beat, 7, "sea_trout", "released", "0.90")
    caught(beat, 7, "finnock", "released", "0.25")
    caught(beat, 8, "farmed_msw", "kept", "5.00")
    caught(beat, 8, "farmed_1sw", "kept", "3.00")
    found = months(season_return(beat.fishery, 2026, now=NEW_YEAR))
    assert cells(found["April"]) == {("released", "msw"): (2, Decimal("10.70"))}
    assert cells(found["July"]) == {
        ("kept", "1sw"): (1, Decimal("2.10")),
        ("released", "sea_trout"): (1, Decimal("0.90")),
        ("released", "finnock"): (1, Decimal("0.25")),
    }
    assert cells(found["August"]) == {
        ("kept", "farmed_msw"): (1, Decimal("5.00")), ("kept", "farmed_1sw"): (1, Decimal("3.00")),
    }  # fmt: skip


def test_every_month_of_the_season_is_there_though_nothing_is_recorded(beat):
    """Entry 51, Wester Ross: rods from 11 February to 31 October (SSI 2014/327, Schedule)."""
    made = season_return(beat.fishery, 2026, now=NEW_YEAR)
    assert [month.month for month in made.months] == list(range(2, 11))
    assert {(month.record, month.rod_days, month.known_cells) for month in made.months} == {
        ("no_record", None, None)
    }


def test_every_zero_of_a_month_stated_unfished_is_there(beat):
    stated(beat, 2026, range(2, 11))
    made = season_return(beat.fishery, 2026, now=NEW_YEAR)
    assert {month.rod_days for month in made.months} == {0}
    assert all(
        len(kinds) == 6 and not any(cell.number or cell.weight_kg for cell in kinds.values())
        for month in made.months
        for kinds in month.known_cells.values()
    )


def test_a_fish_out_of_season_gets_its_month_too(beat):
    caught(beat, 12, "msw", "released", "4.00")
    made = season_return(beat.fishery, 2026, now=NEW_YEAR)
    assert [month.month for month in made.months] == [*range(2, 11), 12]


def test_nothing_recorded_is_no_return_nothing_fished_is_nil_and_a_blank_day_is_data(beat):
    assert season_return(beat.fishery, 2026, now=NEW_YEAR).state == "no_record"
    stated(beat, 2026, range(2, 11))
    assert season_return(beat.fishery, 2026, now=NEW_YEAR).state == "nil"
    RodDayFactory(let__beat=beat)
    made = season_return(beat.fishery, 2026, now=NEW_YEAR)
    assert (made.state, made.totals["kept"]["msw"].number) == ("data", 0)


def test_the_totals_add_every_beat_of_the_water_and_nothing_else(beat):
    second = BeatFactory(fishery=beat.fishery)
    for where in (beat, second, BeatFactory()):
        caught(where, 5, "msw", "released", "4.50")
        RodDayFactory(let__beat=where)
    Catch.objects.filter(beat=beat).update(caught_on=dt.date(2025, 5, 5))
    made = season_return(beat.fishery, 2026, now=NEW_YEAR)
    total = made.totals["released"]["msw"]
    assert (total.number, total.weight_kg, made.rod_days) == (1, Decimal("4.50"), 2)


def test_sums_are_exact_where_binary_fractions_are_not(beat):
    """Ten times 0.10, and thirty weights of 1.10, 2.20 and 0.01: floats would miss the last hundredth."""
    caught(beat, 5, "finnock", "released", *["0.10"] * 10)
    caught(beat, 5, "msw", "kept", *["1.10", "2.20", "0.01"] * 10)
    (may,) = [month for month in season_return(beat.fishery, 2026, now=NEW_YEAR).months if month.month == 5]
    assert str(may.cells["released"]["finnock"].weight_kg) == "1.00"
    assert str(may.cells["kept"]["msw"].weight_kg) == "33.10"


def test_fish_without_a_weight_are_counted_and_noted(beat):
    caught(beat, 5, "msw", "released", "4.00", None, None)
    made = season_return(beat.fishery, 2026, now=NEW_YEAR)
    cell = made.totals["released"]["msw"]
    assert (cell.number, cell.weight_kg, cell.unweighed) == (3, Decimal("4.00"), 2)
    assert "2 fish have no weight in the book, so the total weights leave them out." in made.notes


def test_days_booked_but_not_yet_fished_do_not_count(beat):
    for day in (5, 6, 7):
        RodDayFactory(let__beat=beat, day=dt.date(2026, 5, day))
    made = season_return(beat.fishery, 2026, now=NOON)  # 6 May
    assert made.rod_days == 2
    assert made.notes[-1] == "The season is not over: these figures will grow."


def test_today_is_the_day_at_the_river(beat):
    RodDayFactory(let__beat=beat, day=dt.date(2026, 5, 7))
    midnight = dt.datetime(2026, 5, 6, 23, 0, tzinfo=dt.UTC)  # 00:00 on the 7th in summer time
    before = season_return(beat.fishery, 2026, now=midnight - dt.timedelta(seconds=1))
    assert (before.rod_days, season_return(beat.fishery, 2026, now=midnight).rod_days) == (None, 1)


def test_the_days_to_come_of_a_cancelled_let_leave_the_figures(beat):
    owner = keeper(beat.fishery)
    week = {"first_on": dt.date(2026, 5, 4), "last_on": dt.date(2026, 5, 9), "by": owner, "now": NOON}
    lets = [
        let_rods(beat, booker=GuestFactory(fishery=beat.fishery), rods=rods, **week)[0] for rods in (1, 2)
    ]  # fmt: skip
    assert season_return(beat.fishery, 2026, now=NEW_YEAR).rod_days == 18
    cancel_let(lets[1], by=owner, now=NOON)
    # Wednesday noon: Monday and Tuesday were theirs and stay, Wednesday to Saturday go.
    assert season_return(beat.fishery, 2026, now=NEW_YEAR).rod_days == 6 + 2 * 2


def test_check_ins_are_counted_beside_the_lets_once_a_guest_and_day(beat):
    guest = GuestFactory(fishery=beat.fishery)
    for hours in (0, 6, 24):
        at = NOON + dt.timedelta(hours=hours)
        OutingFactory(
            beat=beat, guest=guest, checked_in_at=at, due_back_at=at + dt.timedelta(hours=2),
            checked_out_at=at + dt.timedelta(hours=1),
        )  # fmt: skip
    OutingFactory(beat=beat)
    OutingFactory()
    assert season_return(beat.fishery, 2026, now=NEW_YEAR).rod_days_checked_in == 3


@pytest.mark.parametrize(
    ("at", "year"), [("2026-12-31T23:59:59+00:00", 2026), ("2027-01-01T00:00:00+00:00", 2027)]
)
def test_a_check_in_belongs_to_the_year_at_the_river(at, year):
    start = dt.datetime.fromisoformat(at)
    outing = OutingFactory(checked_in_at=start, due_back_at=start + dt.timedelta(hours=1))
    found = {
        season: season_return(outing.beat.fishery, season, now=NEW_YEAR).rod_days_checked_in
        for season in (2026, 2027)
    }  # fmt: skip
    assert found == {2026: int(year == 2026), 2027: int(year == 2027)}


def test_a_season_to_come_has_no_record():
    made = season_return(FisheryFactory(), 2027, now=NOON)
    assert (made.state, made.season.first_on) == ("no_record", dt.date(2027, 2, 11))
