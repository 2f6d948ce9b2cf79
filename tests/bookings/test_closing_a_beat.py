"""A beat closed for work is not let, and days already let are not closed."""

import datetime as dt

import pytest

from beats.shared.refusals import NotYours
from bookings.models import BeatClosure
from bookings.services.claims import DayClosed
from bookings.services.closures import DaysLet, close_beat, reopen_beat
from tests.bookings.book import MONDAY, WEEK, let
from tests.factories import NOON, BeatFactory, keeper

pytestmark = pytest.mark.django_db

WORK = {"from_on": WEEK[2], "to_on": WEEK[3], "reason": "the bridge is out", "now": NOON}


@pytest.fixture
def beat():
    return BeatFactory(rods=3, name="Upper")


@pytest.fixture
def owner(beat):
    return keeper(beat.fishery)


def test_a_closed_beat_is_not_let_and_says_why_for_each_day(beat, owner):
    close_beat(beat, **WORK, by=owner)
    with pytest.raises(DayClosed) as caught:
        let(beat)
    reason = "Upper is closed: the bridge is out."
    assert caught.value.errors == {str(WEEK[2]): [reason], str(WEEK[3]): [reason]}
    assert let(beat, last_on=WEEK[1]).rod_days.count() == 4
    assert let(BeatFactory(fishery=beat.fishery, rods=3)).rod_days.count() == 12


def test_season_rods_may_step_over_a_closure(beat, owner):
    close_beat(beat, **WORK, by=owner)
    made = let(beat, kind="season", weekday=0, last_on=dt.date(2026, 6, 30))
    assert made.rod_days.count() == 16


def test_days_that_are_let_are_not_closed(beat, owner):
    made = let(beat)
    with pytest.raises(DaysLet, match=f"on Wednesday 13 May 2026 \\(let {made.pk}\\)"):
        close_beat(beat, **WORK, by=owner)
    assert BeatClosure.objects.count() == 0


def test_a_hold_that_ran_out_is_no_reason_to_keep_a_beat_open(beat, owner):
    let(beat, hold=True)
    closed, new = close_beat(beat, **WORK | {"now": NOON + dt.timedelta(days=3)}, by=owner)
    assert (new, closed.reason) == (True, "the bridge is out")


def test_the_same_closure_again_changes_nothing_and_reopening_lets_again(beat, owner):
    closure, _ = close_beat(beat, **WORK, by=owner)
    assert close_beat(beat, **WORK, by=owner) == (closure, False)
    reopen_beat(closure, by=owner, now=NOON)
    assert let(beat).first_on == MONDAY


def test_only_the_owner_closes(beat):
    with pytest.raises(NotYours):
        close_beat(beat, **WORK, by=keeper(beat.fishery, "ghillie"))
