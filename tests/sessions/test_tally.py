"""Who is out now, the one to look for first at the top."""

import datetime as dt

import pytest

from sessions.queries import standing, tally
from tests.factories import NOON, BeatFactory, OutingFactory

pytestmark = pytest.mark.django_db

HOUR = dt.timedelta(hours=1)


def out(beat, due_in, *, alone=True, grace=0, **facts):
    due = NOON + due_in * HOUR
    return OutingFactory(
        beat=beat, checked_in_at=NOON - 9 * HOUR, due_back_at=due, alone=alone,
        alarm_at=due + grace * HOUR, **facts,
    )  # fmt: skip


def test_the_longest_overdue_stands_first_and_the_lone_before_company():
    beat = BeatFactory()
    soon = out(beat, 1)
    overdue = out(beat, -2)
    company, lone = out(beat, 0.5, alone=False), out(beat, 0.5)
    out(beat, -3, checked_out_at=NOON)
    out(BeatFactory(), -4)
    assert tally(beat.fishery, now=NOON) == [overdue, lone, company, soon]


@pytest.mark.parametrize(
    ("due_in", "grace", "word"),
    [(1, 0, "out"), (0, 1, "late"), (-1, 2, "late"), (-1, 1, "overdue"), (0, 0, "overdue")],
)
def test_the_standing_is_one_word(due_in, grace, word):
    assert standing(out(BeatFactory(), due_in, grace=grace), NOON) == word


def test_whoever_is_back_is_back_however_late():
    assert standing(out(BeatFactory(), -3, checked_out_at=NOON), NOON) == "back"
