"""A check-in is recorded whatever is missing: a refusal would leave an angler on the water unrecorded.

What is missing is stored with the outing and stated to the angler and to the keepers, over HTTP and on the pages.
"""

import datetime as dt

import pytest
from django.urls import reverse
from django.utils import timezone

from beats.models import AuditEntry
from safety.models import Delivery, Pulse
from safety.services.pulse import beat_pulse
from safety.services.sweep import sweep
from sessions.models import Outing
from sessions.services.plans import plan_outing
from tests.factories import DutyFactory, client_of, guest_with_account, keeper
from tests.pages import text

pytestmark = pytest.mark.django_db
HOUR, MINUTE = dt.timedelta(hours=1), dt.timedelta(minutes=1)
CONTACT = {"emergency_contact_name": "Ruth Quill", "emergency_contact_phone": "+447700900178"}


@pytest.fixture
def ghillie(beat):
    person = keeper(beat.fishery, "ghillie")
    person.phone = "+447700900123"
    person.save()
    return person


@pytest.fixture
def watched():
    beat_pulse("sweep", now=timezone.now())


def angler(beat, **facts):
    return guest_with_account(beat.fishery, **({"phone": "+447700900111"} | CONTACT | facts))


def check_in(guest, beat, **asked):
    body = {
        "guest": guest.pk, "beat": beat.pk, "alone": True, "due_back_at": (timezone.now() + 2 * HOUR).isoformat(),
    }  # fmt: skip
    return client_of(guest.user).post("/api/v1/outings/", body | asked, format="json")


def accepted(response, *limits):
    assert response.status_code == 201, response.content
    told = response.json()
    assert told["watch_limits"] == list(limits)
    assert Outing.objects.get(pk=told["id"]).watch_limits == list(limits)
    return told


def test_with_everything_known_nothing_is_limited(beat, ghillie, watched):
    told = accepted(check_in(angler(beat), beat))
    assert (told["watched_by_time_only"], told["watched_how"]) == (False, [])


def test_an_angler_without_a_number_is_recorded_as_watched_by_time_only(beat, ghillie, watched):
    told = accepted(check_in(angler(beat, phone=""), beat), "no-number")
    assert told["watched_by_time_only"] is True
    assert told["told"][0] == told["watched_how"][0]
    assert told["told"][0].startswith("Nobody can ring you")
    assert "who expects you" in " ".join(told["watched_how"])
    assert Outing.objects.get().watched_by_time_only


def test_without_anybody_on_duty_the_check_in_is_recorded_and_every_keeper_is_told(beat, ghillie, watched):
    now = timezone.now()
    DutyFactory(fishery=beat.fishery, user=ghillie, from_at=now - 9 * HOUR, until_at=now - HOUR)
    guest = angler(beat)
    told = accepted(check_in(guest, beat), "no-keeper-on-duty")
    assert told["told"][0].startswith(f"Nobody is on duty at {beat.fishery.name} now.")
    notice = Delivery.objects.get(outing=told["id"], recipient=ghillie.email)
    assert notice.about == "check_in"
    assert guest.name in notice.subject
    assert "nobody is on duty" in notice.body


def test_a_fishery_without_keepers_says_that_nobody_looks(beat, watched):
    told = accepted(check_in(angler(beat), beat), "no-keeper-on-duty")
    assert "nobody will be told" in told["told"][0]
    assert not any("the keepers are told" in line for line in told["told"])


@pytest.mark.parametrize("age", [None, 2 * MINUTE, -2 * MINUTE])
def test_while_the_watch_is_not_running_the_check_in_is_recorded_and_no_alarm_is_promised(beat, ghillie, age):
    if age is not None:
        beat_pulse("sweep", now=timezone.now() - age)
    beat.fishery.phone = "+441632960100"
    beat.fishery.save()
    told = accepted(check_in(angler(beat), beat), "watch-not-running")
    assert "no alarm will be raised until it runs" in told["told"][0]
    assert "+441632960100" in told["told"][0]
    assert not any("the keepers are told" in line or "we write" in line for line in told["told"])
    assert Delivery.objects.filter(outing=told["id"], recipient=ghillie.email, about="check_in").exists()
    sweep(now=timezone.now() + 5 * HOUR)  # and once it runs, the deadline is there
    assert Delivery.objects.filter(alarm__outing=told["id"]).exists()


def test_in_company_too_the_truth_is_told(beat, ghillie):
    told = accepted(check_in(angler(beat), beat, alone=False, party=2), "watch-not-running")
    assert "no alarm will be raised until it runs" in told["told"][0]


@pytest.mark.parametrize(
    ("own", "contact"),
    [
        ({"phone": "+447700900111"}, {"emergency_contact_phone": "+447700900111"}),
        (
            {"email": "una@example.org"},
            {"emergency_contact_phone": "", "emergency_contact_email": "una@example.org"},
        ),
    ],
)
def test_a_contact_who_is_the_angler_is_recorded_and_told(beat, ghillie, watched, own, contact):
    guest = angler(beat)
    for name, value in (own | contact).items():
        setattr(guest, name, value)
    guest.save()
    told = accepted(check_in(guest, beat), "own-emergency-contact")
    assert "cannot answer for you" in " ".join(told["watched_how"])


def test_no_emergency_contact_is_told_at_check_in(beat, ghillie, watched):
    guest = angler(beat, emergency_contact_name="", emergency_contact_phone="")
    told = accepted(check_in(guest, beat), "no-emergency-contact")
    assert "No emergency contact is known for you" in " ".join(told["watched_how"])


def test_a_check_in_kept_in_the_phone_is_recorded_when_nobody_is_on_duty(beat, ghillie, watched, client):
    now = timezone.now()
    DutyFactory(fishery=beat.fishery, user=ghillie, from_at=now - 9 * HOUR, until_at=now - HOUR)
    guest = angler(beat, phone="")
    client.force_login(guest.user)
    said = {"key": "k1", "pool": "", "alone": "yes", "back_by": (now + 2 * HOUR).isoformat(), "said_age_s": "2400"}
    sent = client.post(
        reverse("check-in", args=[beat.fishery.slug, beat.slug]), said, headers={"accept": "application/json"}
    )
    assert sent.status_code == 200, sent.content
    outing = Outing.objects.get(guest=guest)
    assert (outing.watched_by_time_only, outing.watch_limits) == (True, ["no-number", "no-keeper-on-duty"])


def test_a_plan_that_begins_by_itself_is_recorded_the_same_way(beat, ghillie, watched):
    now, guest = timezone.now(), angler(beat, phone="")
    plan_outing(
        guest,
        beat=beat,
        pool=None,
        alone=True,
        out_at=now + MINUTE,
        due_back_at=now + 2 * HOUR,
        by=guest.user,
        now=now,
    )
    sweep(now=now + MINUTE)
    outing = Outing.objects.get(guest=guest)
    assert (outing.watched_by_time_only, outing.watch_limits) == (True, ["no-number"])


def test_a_number_given_while_on_the_water_ends_watching_by_time_only(beat, ghillie, watched):
    guest = angler(beat, phone="")
    outing = accepted(check_in(guest, beat), "no-number")["id"]
    given = client_of(guest.user).patch(
        f"/api/v1/guests/{guest.pk}/", {"phone": "07700 900111"}, format="json", headers={"If-Match": '"1"'}
    )
    assert given.status_code == 200, given.content
    told = client_of(guest.user).get(f"/api/v1/outings/{outing}/").json()
    assert (told["watched_by_time_only"], told["watch_limits"]) == (False, [])


# --- Who expects them, and when ---


def test_who_meets_them_is_asked_for_kept_and_shown_to_the_ghillie(beat, ghillie, watched, client):
    guest, at = angler(beat, phone=""), timezone.now() + 3 * HOUR
    asked = {"meeting_person": "Ruth, grey van at the bridge", "meeting_at": at.isoformat()}
    told = accepted(check_in(guest, beat, **asked), "no-number")
    assert told["meeting_person"] == "Ruth, grey van at the bridge"
    client.force_login(ghillie)
    tally = text(client.get(reverse("water", args=[beat.fishery.slug])))
    assert "watched by time only" in tally
    assert "Ruth, grey van at the bridge" in tally
    sweep(now=timezone.now() + 4 * HOUR)
    outing = Outing.objects.get()
    alarm = outing.alarms.filter(kind="overdue").latest("id")
    page = text(client.get(reverse("water-alarm", args=[beat.fishery.slug, alarm.pk])))
    assert page.count("Ruth, grey van at the bridge") >= 2  # beside the alarm, and on the card for 999
    body = Delivery.objects.filter(alarm=alarm, recipient=ghillie.email).latest("written_at").body
    assert "Ruth, grey van at the bridge" in body
    card = client_of(ghillie).get(f"/api/v1/alarms/{alarm.pk}/card/").json()
    assert "Ruth, grey van at the bridge" in str(card)


def test_who_meets_them_can_be_given_later_from_the_day_page(beat, ghillie, watched, client):
    guest = angler(beat, phone="")
    outing = accepted(check_in(guest, beat), "no-number")["id"]
    client.force_login(guest.user)
    day = text(client.get(reverse("day")))
    address = reverse("day-meeting", args=[guest.pk])
    assert "Nobody can ring you" in day
    assert address in day
    assert (
        client.post(address, {"key": "m1", "meeting_person": "Ruth", "meeting_time": "23:59"}).status_code == 303
    )
    assert (
        client.post(address, {"key": "m1", "meeting_person": "Ruth", "meeting_time": "23:59"}).status_code == 303
    )
    row = Outing.objects.get(pk=outing)
    assert row.meeting_person == "Ruth"
    assert row.meeting_at > row.checked_in_at
    assert AuditEntry.objects.filter(verb="set meeting").count() == 1
    assert "Ruth" in text(client.get(reverse("day")))


def test_what_the_watch_cannot_do_is_on_the_day_page(beat, ghillie, client):
    guest = angler(beat, phone="")
    accepted(check_in(guest, beat), "watch-not-running", "no-number")
    client.force_login(guest.user)
    day = text(client.get(reverse("day")))
    assert "no alarm will be raised until it runs" in day
    assert "the keepers are told." not in day
    assert not Pulse.objects.exists()
