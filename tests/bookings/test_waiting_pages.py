"""The waiting list by page. The Wester Ross season begins on 11 February (SSI 2014/327, Schedule, entry 51)."""

import datetime as dt

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from beats.models import AuditEntry
from bookings.models import Waiting
from bookings.season_weeks import week_of
from tests.bookings.book import next_wednesday_in_may
from tests.factories import (
    BeatFactory,
    GuestFactory,
    LetFactory,
    OfferFactory,
    SameWeekFactory,
    WaitingFactory,
)
from tests.pages import at

pytestmark = pytest.mark.django_db
DAY = dt.timedelta(days=1)


@pytest.fixture
def guest(beat):
    return GuestFactory(fishery=beat.fishery, name="Una Mossgrove", phone="+441632960001")


def typed(guest, **other):
    return {"key": "k1", "guest": guest.pk, "beat": "", "day": "", "rods": 1} | other


def week_14(year):
    """Of a season whose first day is 11 February, or the Monday after a Sunday."""
    first = dt.date(year, 2, 11)
    first += DAY * (first.weekday() == 6)
    return first - DAY * first.weekday() + 13 * 7 * DAY


def test_somebody_is_put_on_the_list_once_however_often_the_button_is_pressed(house, beat, guest):
    day = week_14(timezone.now().year + 1) + 2 * DAY
    form = typed(guest, beat=beat.pk, day=day.isoformat(), rods=2)
    for _ in range(2):
        assert house.post(at("house-join-waiting", beat), form)["Location"] == at("house-waiting", beat)
    entry = Waiting.objects.get()
    assert (entry.guest, entry.beat, entry.week, entry.rods) == (guest, beat, 14, 2)
    page = house.get(at("house-waiting", beat)).content.decode()
    for told in (
        "Una Mossgrove",
        beat.name,
        "week 14 of the season, next from",
        "2 rods",
        'href="tel:+441632960001"',
    ):
        assert told in page
    assert AuditEntry.objects.filter(verb="join waiting list").count() == 1


def test_a_week_is_told_by_the_next_time_that_it_comes(house, beat, guest):
    WaitingFactory(guest=guest, week=14)
    today = timezone.now().date()
    monday = next(monday for monday in map(week_14, (today.year, today.year + 1)) if monday + 7 * DAY > today)
    assert f"next from {monday.day} May {monday.year}" in house.get(at("house-waiting", beat)).content.decode()


def test_any_beat_and_any_week_in_the_order_in_which_they_came(house, beat, guest):
    late = WaitingFactory(guest=guest, since=timezone.now())
    early = WaitingFactory(guest__fishery=beat.fishery, guest__name="Ian Heronsgate", since=timezone.now() - DAY)
    WaitingFactory(guest__name="Elsewhere")
    gone = WaitingFactory(guest__fishery=beat.fishery, guest__name="Gone Away", left_at=timezone.now())
    page = house.get(at("house-waiting", beat)).content.decode()
    assert page.index(early.guest.name) < page.index(late.guest.name)
    assert "any beat, any week" in page
    assert gone.guest.name not in page
    assert "Elsewhere" not in page


def test_whoever_is_thinking_about_a_week_is_marked(house, beat, guest):
    entry = WaitingFactory(guest=guest)
    assert "a week is held for their answer" not in house.get(at("house-waiting", beat)).content.decode()
    held = LetFactory(beat=beat, booker=guest, status="held", expires_at=timezone.now() + DAY)
    OfferFactory(same_week=SameWeekFactory(last_let=LetFactory(beat=beat)), number=1, waiting=entry, let=held)
    assert "a week is held for their answer" in house.get(at("house-waiting", beat)).content.decode()


def test_what_cannot_be_is_refused_and_stays_typed(house, beat, guest):
    christmas = dt.date(timezone.now().year + 1, 12, 23).isoformat()
    wrong = [
        ({"rods": beat.rods + 1}, f"There are {beat.rods} rods at most. Wait for fewer."),
        ({"rods": 0}, "greater than or equal to 1"),
        ({"day": christmas}, "The water is closed all that week."),
        ({"guest": GuestFactory().pk}, "not one of the available"),
        ({"beat": BeatFactory().pk}, "not one of the available"),
    ]
    for more, told in wrong:
        form = typed(guest, day=next_wednesday_in_may().isoformat()) | more
        answer = house.post(at("house-join-waiting", beat), form)
        page = answer.content.decode()
        assert (answer.status_code, told in page) == (422, True), told
        assert f'value="{form["day"]}"' in page
    assert not Waiting.objects.exists()


def test_somebody_is_taken_off_when_asked_twice(house, beat, guest):
    entry = WaitingFactory(guest=guest)
    path = at("house-leave-waiting", beat, entry.pk)
    assert "Una Mossgrove waits since 6 May 2026" in house.get(path).content.decode()
    assert Waiting.objects.filter(left_at=None).exists()
    assert house.post(path, {"key": "k"})["Location"] == at("house-waiting", beat)
    assert not Waiting.objects.filter(left_at=None).exists()
    assert "Nobody waits." in house.get(at("house-waiting", beat)).content.decode()


def test_a_let_tells_who_waits_for_such_rods(house, beat):
    first = next_wednesday_in_may()
    let = LetFactory(beat=beat, rods=2, first_on=first, last_on=first + DAY)
    week = week_of(first, dt.date(first.year, 2, 11))
    there = {"guest__fishery": beat.fishery}
    WaitingFactory(**there, guest__name="Any At All")
    WaitingFactory(**there, guest__name="Just This", beat=beat, week=week, rods=2)
    WaitingFactory(**there, guest__name="Other Week", week=week + 1)
    WaitingFactory(**there, guest__name="Other Beat", beat=BeatFactory(fishery=beat.fishery))
    WaitingFactory(**there, guest__name="Too Many", rods=3)
    path = at("house-let-waiting", beat, let.pk)
    assert path in house.get(at("house-let", beat, let.pk)).content.decode()
    page = house.get(path).content.decode()
    assert [name in page for name in ("Any At All", "Just This", "Other Week", "Other Beat", "Too Many")] == [
        True, True, False, False, False,
    ]  # fmt: skip


def test_the_list_asks_as_many_questions_for_many_as_for_one(house, beat):
    counts = []
    for _ in range(2):
        for _ in range(3):
            WaitingFactory(guest__fishery=beat.fishery, beat=beat, week=14)
        with CaptureQueriesContext(connection) as asked:
            house.get(at("house-waiting", beat))
        counts.append(len(asked))
    assert counts[0] == counts[1]
