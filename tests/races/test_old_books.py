"""One old book brought in from several sides, and two about the same month."""

from functools import partial

import pytest

from sessions.models import MonthlyTotal, OldBook
from sessions.old_books.plan import Plan
from sessions.services.old_books import bring_in
from tests.factories import NOON, BeatFactory, keeper
from tests.races.together import at_once, kinds
from tests.sessions.old_books.books import LONG, MONTH_HEAD, csv_of

pytestmark = [pytest.mark.races, pytest.mark.django_db(transaction=True)]
ROW = (2024, 7, "msw", "kept", 12, "54.5")
PLAN = Plan(what="months", columns=LONG)


def bringing(fishery, data):
    return partial(bring_in, fishery, data, PLAN, name="old.csv", by=keeper(fishery), now=NOON)


def test_one_file_from_four_sides_comes_in_once():
    fishery = BeatFactory().fishery
    answers = at_once([bringing(fishery, csv_of(ROW, head=MONTH_HEAD))] * 4)
    assert kinds(answers) == [*["BroughtInAlready"] * 3, "tuple"]
    assert (OldBook.objects.count(), MonthlyTotal.objects.count()) == (1, 1)


def test_of_two_files_about_the_same_month_one_comes_in():
    fishery = BeatFactory().fishery
    files = [csv_of(ROW, head=MONTH_HEAD), csv_of((*ROW[:4], 13, "58"), head=MONTH_HEAD)]
    answers = at_once([bringing(fishery, data) for data in files])
    assert kinds(answers) == ["FaultyBook", "tuple"]
    assert (OldBook.objects.count(), MonthlyTotal.objects.count()) == (1, 1)
