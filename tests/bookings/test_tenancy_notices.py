"""Tenants whose week is held are written to, once, and reminded before the time to answer ends."""

import datetime as dt

import pytest
from django.core import mail
from django.urls import reverse
from django.utils import timezone

from bookings.about_me import holdings
from bookings.models import Let, Offer, TenancyNotice
from bookings.services.forgetting import everything_about
from bookings.services.holds import cancel_let, confirm_let
from bookings.services.seasons import open_season
from bookings.services.sweep import sweep
from bookings.services.tenancy_notices import send_notices, write_notices
from bookings.services.waiting import join_waiting
from tests.bookings.book import let
from tests.factories import BeatFactory, GuestFactory, client_of, guest_with_account, keeper
from tests.pages import at, text

pytestmark = pytest.mark.django_db

AUTUMN = dt.datetime(2026, 10, 5, 9, tzinfo=dt.UTC)
ANSWER_BY = dt.date(2026, 11, 30)
DAY = dt.timedelta(days=1)
REMIND_AT = dt.datetime(2026, 11, 17, tzinfo=dt.UTC)  # 14 days before midnight of the answer date


@pytest.fixture
def beat():
    return BeatFactory(rods=3, name="Upper", fishery__name="Durr Water")


@pytest.fixture
def owner(beat):
    return keeper(beat.fishery)


@pytest.fixture
def tenant(beat):
    return guest_with_account(beat.fishery, name="Una Teal")


def opened(beat, owner, **asked):
    open_season(beat.fishery, **({"year": 2027, "answer_by": ANSWER_BY, "by": owner, "now": AUTUMN} | asked))
    sweep(asked.get("now", AUTUMN))


def posted(now):
    """Who was written to in one round."""
    before = len(mail.outbox)
    send_notices(clock=lambda: now)
    return [letter.to[0] for letter in mail.outbox[before:]]


def test_a_tenant_is_written_to_once_with_the_days_and_the_answer_date(beat, owner, tenant, settings):
    settings.PUBLIC_URL = "https://lodge.example.org"
    let(beat, booker=tenant, kind="week")
    opened(beat, owner)
    assert posted(AUTUMN) == [tenant.email]
    letter = mail.outbox[-1]
    assert letter.subject == "Durr Water: your week in 2027, answer by the end of Monday 30 November 2026"
    assert "Upper: Monday 10 May to Saturday 15 May 2027, 2 rods, as last year's tenant" in letter.body
    assert "https://lodge.example.org/day/lets/" in letter.body
    assert letter.body.count("the end of Monday 30 November 2026") == 2
    assert [posted(AUTUMN + n * DAY) for n in range(3)] == [[], [], []]
    assert TenancyNotice.objects.count() == 1


def test_a_tenant_of_several_weeks_has_one_letter(beat, owner, tenant):
    for weeks in range(3):
        first = dt.date(2026, 5, 11) + weeks * 7 * DAY
        let(beat, booker=tenant, kind="week", first_on=first, last_on=first + 5 * DAY, rods=1)
    opened(beat, owner)
    assert posted(AUTUMN) == [tenant.email]
    assert mail.outbox[-1].body.count("2027, 1 rod") == 3
    assert "your weeks in 2027" in mail.outbox[-1].subject


def test_no_letter_goes_before_all_weeks_of_the_season_are_held(beat, owner, tenant, monkeypatch):
    monkeypatch.setattr("bookings.services.seasons.BATCH", 1)
    for weeks in range(3):
        first = dt.date(2026, 5, 11) + weeks * 7 * DAY
        let(beat, booker=tenant, kind="week", first_on=first, last_on=first + 5 * DAY, rods=1)
    opened(beat, owner)
    rounds = []
    for n in range(4):
        rounds.append(posted(AUTUMN + n * DAY / 24))
        sweep(AUTUMN + n * DAY / 24)
    assert [each for each in rounds if each] == [[tenant.email]]
    assert mail.outbox[-1].body.count("2027, 1 rod") == 3


def test_two_writers_write_one_letter(beat, owner, tenant):
    let(beat, booker=tenant, kind="week")
    opened(beat, owner)
    assert [write_notices(now=AUTUMN) for _ in range(2)] == [1, 0]


def test_one_failing_mailbox_does_not_stop_the_others(beat, owner, tenant, monkeypatch):
    other = guest_with_account(beat.fishery)
    let(beat, booker=tenant, kind="week", rods=1)
    let(beat, booker=other, kind="week", rods=1)
    opened(beat, owner)
    send = mail.EmailMessage.send

    def failing(message, *args, **kwargs):
        if message.to == [tenant.email]:
            raise OSError("mailbox unavailable")
        return send(message, *args, **kwargs)

    monkeypatch.setattr(mail.EmailMessage, "send", failing)
    assert posted(AUTUMN) == [other.email]
    monkeypatch.undo()
    assert posted(AUTUMN + DAY) == [tenant.email]
    assert posted(AUTUMN + 2 * DAY) == []


def test_a_tenant_without_an_address_is_named_to_the_owner(beat, owner, house):
    let(beat, booker=GuestFactory(fishery=beat.fishery, name="Ian Pike", email=""), kind="week")
    opened(beat, owner)
    Let.objects.filter(status="held").update(expires_at=timezone.now() + DAY)
    write_notices(now=timezone.now())
    assert mail.outbox == []
    page = text(house.get(at("house-rights", beat)))
    assert "No e-mail address: tell them by post or phone." in page


def test_who_is_given_an_address_later_is_written_to_then(beat, owner):
    guest = GuestFactory(fishery=beat.fishery, email="")
    let(beat, booker=guest, kind="week")
    opened(beat, owner)
    assert posted(AUTUMN) == []
    guest.email = "late@example.org"
    guest.save()
    assert [posted(AUTUMN + DAY), posted(AUTUMN + 2 * DAY)] == [["late@example.org"], []]


def test_an_address_alone_is_enough(beat, owner):
    """Whoever has not signed in yet is written to at the address of their entry."""
    let(beat, booker=GuestFactory(fishery=beat.fishery, email="una@example.org", user=None), kind="week")
    opened(beat, owner)
    assert posted(AUTUMN) == ["una@example.org"]


def test_who_has_not_answered_is_reminded_once_fourteen_days_before(beat, owner, tenant):
    let(beat, booker=tenant, kind="week")
    opened(beat, owner)
    posted(AUTUMN)
    times = [REMIND_AT - DAY, REMIND_AT, REMIND_AT + DAY, REMIND_AT + 13 * DAY, REMIND_AT + 15 * DAY]
    assert [posted(now) for now in times] == [[], [tenant.email], [], [], []]
    assert mail.outbox[-1].subject.startswith(
        "Reminder: Durr Water: your week in 2027, answer by the end of Monday"
    )


@pytest.mark.parametrize("act", [confirm_let, cancel_let])
def test_who_has_answered_is_not_reminded(beat, owner, tenant, act):
    let(beat, booker=tenant, kind="week")
    opened(beat, owner)
    posted(AUTUMN)
    act(Offer.objects.get().let, by=tenant.user, now=AUTUMN + DAY)
    assert posted(REMIND_AT) == []


def test_a_letter_that_waited_too_long_is_not_sent_about_what_was_answered(beat, owner, tenant):
    let(beat, booker=tenant, kind="week")
    opened(beat, owner)
    write_notices(now=AUTUMN)
    confirm_let(Offer.objects.get().let, by=tenant.user, now=AUTUMN)
    assert posted(AUTUMN) == []
    assert TenancyNotice.objects.get().state == "given_up"


@pytest.mark.parametrize(("days", "letters"), [(5, 1), (10, 2), (30, 2)])
def test_no_reminder_follows_within_a_week_of_the_letter(beat, owner, tenant, days, letters):
    let(beat, booker=tenant, kind="week")
    opened(beat, owner, answer_by=AUTUMN.date() + days * DAY)
    assert sum(len(posted(AUTUMN + n * DAY)) for n in range(days + 3)) == letters


def test_the_next_on_the_waiting_list_is_written_to(beat, owner, tenant):
    waiting = guest_with_account(beat.fishery)
    join_waiting(beat.fishery, guest=waiting, beat=None, week=None, rods=1, by=owner, now=AUTUMN)
    let(beat, booker=tenant, kind="week")
    opened(beat, owner)
    posted(AUTUMN)
    cancel_let(Offer.objects.get().let, by=tenant.user, now=AUTUMN)
    sweep(AUTUMN)
    assert posted(AUTUMN) == [waiting.email]
    assert "from the waiting list. Answer by 10:00 on Thursday 8 October 2026." in mail.outbox[-1].body


def test_the_api_says_when_they_were_written_to(beat, owner, tenant):
    let(beat, booker=tenant, kind="week")
    opened(beat, owner)
    posted(AUTUMN)
    (told,) = client_of(owner).get("/api/v1/offers/").json()["results"]
    assert told["notice"]["sent_at"].startswith("2026-10-05T")
    assert (told["notice"]["state"], told["reminder"]) == ("sent", None)


def test_the_tenant_sees_it_on_their_day_and_accepts_it_there(beat, owner, tenant, client):
    let(beat, booker=tenant, kind="week")
    opened(beat, owner)
    held = Offer.objects.get().let
    until = timezone.now() + 3 * DAY
    Let.objects.filter(pk=held.pk).update(expires_at=until)
    client.force_login(tenant.user)
    day = text(client.get(reverse("day")))
    assert "Durr Water holds a week for you in 2027" in day
    assert reverse("my-let-confirm", args=[held.pk]) in day
    assert reverse("my-let-cancel", args=[held.pk]) in day
    answer = client.post(reverse("my-let-confirm", args=[held.pk]), {"key": "k1"})
    assert answer.status_code == 303
    held.refresh_from_db()
    assert held.status == "confirmed"
    assert "holds a week for you" not in text(client.get(reverse("day")))


def test_what_was_held_is_told_to_the_guest_and_forgotten_with_them(beat, owner, tenant):
    let(beat, booker=tenant, kind="week")
    opened(beat, owner)
    posted(AUTUMN)
    told = everything_about(tenant, by=owner, now=AUTUMN)
    assert "your week in 2027" in str(told)
    for holding in holdings():
        if holding.forget:
            holding.forget(tenant, AUTUMN)
    notice = TenancyNotice.objects.get()
    assert (notice.recipient, notice.subject) == ("", "")
