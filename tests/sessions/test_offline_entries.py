"""What a phone kept without signal, through the pages and the API: when it happened, and what is answered."""

import datetime as dt

import pytest
from django.urls import reverse
from django.utils import timezone

from beats.models import AuditEntry
from safety.models import Alarm, Pulse
from safety.services.pulse import beat_pulse
from safety.services.sweep import sweep
from sessions.efforts import season_effort
from sessions.models import Outing, PhoneNote
from tests.factories import DutyFactory, PlanFactory, client_of, guest_with_account, keeper

pytestmark = pytest.mark.django_db
MINUTE, HOUR = dt.timedelta(minutes=1), dt.timedelta(hours=1)
SLACK = dt.timedelta(seconds=20)


@pytest.fixture
def guest(beat):
    keeper(beat.fishery)
    beat_pulse("sweep", now=timezone.now())
    return guest_with_account(beat.fishery, phone="+447700900111")


@pytest.fixture
def phone(client, guest):
    client.force_login(guest.user)
    return client


@pytest.fixture
def morning(guest, beat):
    """Out since four hours ago, due half an hour ago."""
    from tests.factories import OutingFactory  # noqa: PLC0415

    now = timezone.now()
    return OutingFactory(beat=beat, guest=guest, checked_in_at=now - 4 * HOUR, due_back_at=now - HOUR / 2)


def page(phone, guest, what, key, age_min, **facts):
    return phone.post(
        reverse(f"day-{what}", args=[guest.pk]), {"key": key, "said_age_s": str(age_min * 60)} | facts,
        headers={"Accept": "application/json"},
    )  # fmt: skip


def checks_in(phone, beat, key, age_min, due=None):
    due = due or timezone.now() + 2 * HOUR
    form = {"key": key, "pool": "", "alone": "yes", "back_by": due.isoformat(), "said_age_s": str(age_min * 60)}
    return phone.post(
        reverse("check-in", args=[beat.fishery.slug, beat.slug]), form, headers={"Accept": "application/json"}
    )


def about(found, minutes_ago):
    return abs(timezone.now() - minutes_ago * MINUTE - found) < SLACK


def test_a_check_out_and_a_later_check_in_sent_together_leave_the_afternoon_watched(phone, guest, beat, morning):
    assert page(phone, guest, "back", "k1", 90).status_code == 200
    assert checks_in(phone, beat, "k2", 60).status_code == 200
    morning.refresh_from_db()
    afternoon = Outing.objects.exclude(pk=morning.pk).get()
    assert about(morning.checked_out_at, 90)
    assert (afternoon.checked_out_at, about(afternoon.checked_in_at, 60)) == (None, True)
    assert "You are on the water" in phone.get(reverse("day")).content.decode()
    sweep(now=afternoon.alarm_at)
    assert Alarm.objects.filter(outing=afternoon, kind="overdue").exists()


def test_the_check_in_may_arrive_before_the_check_out(phone, guest, beat, morning):
    checks_in(phone, beat, "k2", 60)
    assert Outing.objects.count() == 1
    page(phone, guest, "back", "k1", 90)
    afternoon = Outing.objects.exclude(pk=morning.pk).get()
    assert (afternoon.checked_out_at, about(afternoon.checked_in_at, 60), afternoon.alone) == (None, True, True)


def test_what_was_received_when_is_kept(phone, guest, beat, morning):
    page(phone, guest, "back", "k1", 90)
    note = PhoneNote.objects.get(act="out")
    assert (about(note.happened_at, 90), about(note.received_at, 0)) == (True, True)
    entry = AuditEntry.objects.get(verb="check out")
    assert about(entry.at, 0)
    assert about(dt.datetime.fromisoformat(entry.after["checked_out_at"]), 90)


def test_a_repeated_check_in_from_the_phone_is_one(phone, guest, beat):
    for _ in range(2):
        assert checks_in(phone, beat, "k2", 60).status_code == 200
    assert (Outing.objects.count(), PhoneNote.objects.count()) == (1, 1)


def test_a_keepers_check_out_of_the_morning_leaves_the_afternoon_watched(phone, guest, beat, morning):
    """The keeper closed the forgotten outing while the check-in of the next one waited in the phone."""
    owner = client_of(keeper(beat.fishery))
    assert owner.post(f"/api/v1/outings/{morning.pk}/check-out/").status_code == 200
    checks_in(phone, beat, "k2", 40)
    afternoon = Outing.objects.exclude(pk=morning.pk).get()
    assert afternoon.checked_out_at is None


@pytest.mark.parametrize("fault", ["nobody on duty", "the watch is stale"])
def test_a_check_in_that_waited_is_recorded_though_it_would_be_refused_now(phone, guest, beat, fault):
    now = timezone.now()
    if fault == "nobody on duty":
        DutyFactory(fishery=beat.fishery, user=keeper(beat.fishery, "ghillie"), from_at=now - 9 * HOUR,
                    until_at=now - 5 * HOUR)  # fmt: skip
    else:
        Pulse.objects.all().delete()
    assert checks_in(phone, beat, "k1", 30).status_code == 200
    outing = Outing.objects.get()
    assert outing.checked_out_at is None
    assert sweep(now=outing.alarm_at).raised >= 1


def test_the_answer_says_what_the_watch_lacks(guest, beat):
    Pulse.objects.all().delete()
    now = timezone.now()
    answer = client_of(guest.user).post(
        "/api/v1/outings/",
        {"guest": guest.pk, "beat": beat.pk, "alone": True, "due_back_at": (now + HOUR).isoformat(),
         "said_at": (now - HOUR).isoformat()},
        format="json",
    )  # fmt: skip
    assert answer.status_code == 201
    assert "The watch has not swept yet" in " ".join(answer.json()["told"])


def test_a_time_back_beyond_the_longest_outing_is_brought_within_it_not_refused(guest, beat):
    now = timezone.now()
    said_at, due = now - 5 * HOUR, now + 20 * HOUR
    answer = client_of(guest.user).post(
        "/api/v1/outings/",
        {"guest": guest.pk, "beat": beat.pk, "alone": True, "due_back_at": due.isoformat(),
         "said_at": said_at.isoformat()},
        format="json",
    )  # fmt: skip
    assert answer.status_code == 201
    outing = Outing.objects.get()
    assert outing.due_back_at == outing.checked_in_at + beat.longest_outing_minutes * MINUTE


@pytest.mark.parametrize("age", ["unknown", "-5", "1e9", "nan"])
def test_a_check_in_of_unknown_age_is_watched_from_now(phone, guest, beat, age):
    due = timezone.now() + 2 * HOUR
    form = {"key": "k1", "pool": "", "alone": "yes", "back_by": due.isoformat(), "said_age_s": age}
    phone.post(reverse("check-in", args=[beat.fishery.slug, beat.slug]), form)
    outing = Outing.objects.get()
    assert (outing.checked_out_at, outing.due_back_at, about(outing.checked_in_at, 0)) == (None, due, True)


def api(user, path, **facts):
    return client_of(user).post(f"/api/v1/{path}/", facts, format="json")


def test_the_api_takes_the_time_of_entry_of_a_check_out(guest, morning):
    said_at = timezone.now() - 40 * MINUTE
    answer = api(guest.user, f"outings/{morning.pk}/check-out", said_at=said_at.isoformat())
    assert dt.datetime.fromisoformat(answer.json()["checked_out_at"]) == said_at


def test_a_check_out_from_before_the_outing_is_refused_by_name(guest, morning):
    early = (morning.checked_in_at - MINUTE).isoformat()
    answer = api(guest.user, f"outings/{morning.pk}/check-out", said_at=early)
    assert (answer.status_code, answer.json()["type"]) == (409, "/api/v1/problems/entered-before")
    morning.refresh_from_db()
    assert morning.checked_out_at is None


@pytest.mark.parametrize("wrong", [dt.timedelta(days=8), dt.timedelta(days=-1)])
def test_a_time_of_entry_that_cannot_be_leaves_them_watched(guest, morning, wrong):
    answer = api(guest.user, f"outings/{morning.pk}/check-out", said_at=(timezone.now() - wrong).isoformat())
    assert (answer.status_code, answer.json()["type"]) == (409, "/api/v1/problems/time-unknown")
    morning.refresh_from_db()
    assert morning.checked_out_at is None


def test_an_earlier_time_back_that_has_passed_meanwhile_makes_them_overdue_at_once(guest, morning):
    now = timezone.now()
    Outing.objects.filter(pk=morning.pk).update(due_back_at=now + HOUR, alarm_at=now + 2 * HOUR, heard_at=None)
    due = (now - 10 * MINUTE).isoformat()
    answer = api(guest.user, f"outings/{morning.pk}/time-back", due_back_at=due, said_at=(now - HOUR).isoformat())
    assert answer.status_code == 200
    assert answer.json()["due_back_at"] == due.replace("+00:00", "Z")


def test_an_all_well_counts_from_when_it_was_entered(guest, morning):
    said_at = timezone.now() - HOUR
    answer = api(guest.user, f"outings/{morning.pk}/fine", said_at=said_at.isoformat())
    assert dt.datetime.fromisoformat(answer.json()["heard_at"]) == said_at


def test_a_plan_called_off_before_its_check_in_was_entered_does_not_end_it(guest, beat, phone):
    now = timezone.now()
    plan = PlanFactory(beat=beat, guest=guest, out_at=now - 2 * HOUR, due_back_at=now + 2 * HOUR,
                       planned_at=now - 9 * HOUR)  # fmt: skip
    sweep(now=now - 2 * HOUR)
    checks_in(phone, beat, "k1", 60)
    answer = api(guest.user, f"plans/{plan.pk}/call-off", said_at=(now - 90 * MINUTE).isoformat())
    assert answer.status_code == 200
    assert Outing.objects.get().checked_out_at is None


def test_a_rod_day_counts_on_the_day_of_entry(phone, guest, beat):
    checks_in(phone, beat, "k1", 26 * 60, due=timezone.now() - 20 * HOUR)
    outing = Outing.objects.get()
    day = outing.checked_in_at.date()
    assert about(outing.checked_in_at, 26 * 60)
    months = {each.month: each for each in season_effort(beat.fishery, day.year, today=day, months=[day.month])}
    assert months[day.month].checked_in == 1
