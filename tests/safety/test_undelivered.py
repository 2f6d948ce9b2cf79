"""A message that cannot be delivered is a task for a keeper, and no fault of the watch."""

import datetime as dt

import pytest
from django.test import Client
from django.utils import timezone

from beats.models import AuditEntry
from safety.models import Delivery
from safety.queries import board_of, watch_health
from safety.services.ping import ping
from safety.services.pulse import beat_pulse
from safety.services.sweep import sweep
from safety.services.undelivered import expire_undelivered
from tests.beats.feeds.server import playing
from tests.factories import (
    NOON,
    AlarmFactory,
    DeliveryFactory,
    GuestFactory,
    OutingFactory,
    RecallFactory,
    client_of,
    guest_with_account,
    keeper,
)
from tests.pages import text

pytestmark = pytest.mark.django_db
SECOND, MINUTE, HOUR, DAY = (dt.timedelta(seconds=n) for n in (1, 60, 3600, 86400))
BAD, GOOD = "+447700900999", "+447700900123"
LIST = "/api/v1/undelivered/"


@pytest.fixture
def owner(beat):
    return keeper(beat.fishery)


@pytest.fixture
def alarm(beat):
    now = timezone.now()
    guest = GuestFactory(fishery=beat.fishery, name="Una Late", phone=BAD, email="una@example.org")
    outing = OutingFactory(beat=beat, guest=guest, checked_in_at=now - HOUR, due_back_at=now, alarm_at=now)
    return AlarmFactory(outing=outing)


def lost(alarm, **facts):
    now = timezone.now() - 6 * MINUTE
    facts = {"channel": "text", "recipient": BAD, "person": f"guest:{alarm.outing.guest_id}"} | facts
    facts = {
        "state": "given_up",
        "last_fault": "NotTaken: The server answered 400.",
        "fault_kind": "address",
    } | facts
    return DeliveryFactory(alarm=alarm, written_at=now, next_try_at=now, failed_at=now, **facts)


def closings(*rows):
    return [Delivery.objects.get(pk=row.pk).closing for row in rows]


# --- The watch stays well ----------------------------------------------------------------------


def test_health_and_heartbeat_go_on_while_one_address_fails(alarm, settings, monkeypatch):
    with playing() as feed:
        settings.WATCH_PING_URL = feed.url()
        lost(alarm)
        now = timezone.now()
        Delivery.objects.exclude(channel="text").delete()
        sweep(now=now)
        Delivery.objects.filter(state="waiting").update(state="sent", sent_at=now)
        answer = Client().get("/health/watch")
        assert (answer.status_code, answer.json()["faults"], answer.json()["undelivered"]) == (200, [], 1)
        assert ping(now=timezone.now(), door=feed.door())
        assert len(feed.asked) == 1


def test_it_stays_well_for_days(alarm):
    row = lost(alarm)
    for days in (1, 30, 365):
        now = row.written_at + days * DAY
        beat_pulse("sweep", now=now)
        alarm.outing.__class__.objects.update(alarm_at=now + HOUR)
        assert watch_health(now=now).faults == ()


# --- Closing by the API ------------------------------------------------------------------------


def test_a_keeper_acknowledges_once_for_all_that_failed_at_the_address(alarm, owner):
    first, again, call = lost(alarm), lost(alarm, turn=1), lost(alarm, channel="voice")
    other = lost(alarm, recipient="+447700900888")
    client = client_of(owner)
    assert len(client.get(LIST).json()["results"]) == 4
    answer = client.post(f"{LIST}{first.pk}/acknowledge/")
    assert (answer.status_code, answer.json()["closing"]) == (200, "acknowledged")
    assert closings(first, again, call, other) == ["acknowledged"] * 3 + [""]
    assert [row["id"] for row in client.get(LIST).json()["results"]] == [str(other.pk)]
    row = Delivery.objects.get(pk=first.pk)
    assert (row.closed_by, row.closed_at is not None) == (owner, True)
    assert AuditEntry.objects.filter(verb="acknowledge undelivered message", by=owner).count() == 1
    assert client.post(f"{LIST}{first.pk}/acknowledge/").status_code == 200
    assert AuditEntry.objects.filter(verb="acknowledge undelivered message").count() == 1


def test_correcting_a_guest_s_number_changes_the_guest_and_sends_what_still_matters(alarm, owner):
    old, newest = lost(alarm, turn=1), lost(alarm, turn=2)
    Delivery.objects.filter(pk=old.pk).update(written_at=old.written_at - HOUR)
    answer = client_of(owner).post(f"{LIST}{newest.pk}/correct/", {"address": "07700 900123"}, format="json")
    assert (answer.status_code, answer.json()["closing"]) == (200, "corrected")
    alarm.outing.guest.refresh_from_db()
    assert alarm.outing.guest.phone == GOOD
    again = Delivery.objects.get(recipient=GOOD)
    assert (again.state, again.turn, again.alarm_id, again.attempts) == ("waiting", 2, alarm.pk, 0)
    assert closings(old, newest) == ["corrected"] * 2
    twice = client_of(owner).post(f"{LIST}{newest.pk}/correct/", {"address": GOOD}, format="json")
    assert (twice.status_code, Delivery.objects.filter(recipient=GOOD).count()) == (200, 1)


@pytest.mark.parametrize(
    ("whose", "address", "field"),
    [
        (("guest", "email"), "Una.New@example.org", "email"),
        (("contact", "voice"), GOOD, "emergency_contact_phone"),
    ],
)
def test_each_kind_of_address_is_put_right_where_it_is_kept(alarm, owner, whose, address, field):
    guest, (person, channel) = alarm.outing.guest, whose
    row = lost(alarm, channel=channel, person=f"{person}:{guest.pk}", recipient="una@example.org")
    assert (
        client_of(owner).post(f"{LIST}{row.pk}/correct/", {"address": address}, format="json").status_code == 200
    )
    guest.refresh_from_db()
    assert getattr(guest, field) == address.lower()


def test_an_alarm_that_is_over_is_not_sent_again(alarm, owner):
    row = lost(alarm)
    type(alarm).objects.update(cleared_at=timezone.now())
    client_of(owner).post(f"{LIST}{row.pk}/correct/", {"address": GOOD}, format="json")
    assert not Delivery.objects.filter(recipient=GOOD).exists()
    assert closings(row) == ["corrected"]


@pytest.mark.parametrize("address", ["not a number", BAD, "07700 900999", ""])
def test_a_number_that_cannot_be_rung_or_is_the_same_is_refused_and_nothing_is_closed(alarm, owner, address):
    row = lost(alarm)
    answer = client_of(owner).post(f"{LIST}{row.pk}/correct/", {"address": address}, format="json")
    assert answer.status_code == 400
    assert "address" in answer.json()["errors"]
    assert closings(row) == [""]


def test_an_address_of_another_guest_is_refused(alarm, owner, beat):
    GuestFactory(fishery=beat.fishery, email="ian@example.org")
    row = lost(alarm, channel="email", recipient="una@example.org")
    answer = client_of(owner).post(f"{LIST}{row.pk}/correct/", {"address": "ian@example.org"}, format="json")
    assert answer.status_code == 400


def test_the_owner_corrects_a_ghillie_s_number_and_nobody_an_account_s_e_mail(alarm, owner, beat):
    ghillie, other = keeper(beat.fishery, "ghillie"), keeper(beat.fishery, "ghillie")
    number, mail = (
        lost(alarm, person=f"user:{ghillie.pk}"),
        lost(alarm, person=f"user:{ghillie.pk}", channel="email"),
    )
    path = f"{LIST}{number.pk}/correct/"
    assert client_of(other).post(path, {"address": GOOD}, format="json").status_code == 409
    assert client_of(owner).post(path, {"address": GOOD}, format="json").status_code == 200
    ghillie.refresh_from_db()
    assert ghillie.phone == GOOD
    refused = client_of(owner).post(f"{LIST}{mail.pk}/correct/", {"address": "x@example.org"}, format="json")
    assert (refused.status_code, refused.json()["type"].rpartition("/")[2]) == (409, "not-correctable")


def test_the_number_of_a_keeper_of_two_fisheries_is_only_their_own_to_change(alarm, owner, beat):
    ghillie = keeper(beat.fishery, "ghillie")
    keeper_elsewhere = AlarmFactory().outing.beat.fishery
    keeper_elsewhere.memberships.create(user=ghillie, role="ghillie")
    row = lost(alarm, person=f"user:{ghillie.pk}")
    path = f"{LIST}{row.pk}/correct/"
    assert client_of(owner).post(path, {"address": GOOD}, format="json").status_code == 409
    assert client_of(ghillie).post(path, {"address": GOOD}, format="json").status_code == 200


def test_guests_and_keepers_elsewhere_see_none_of_it(alarm, beat):
    row = lost(alarm)
    for who in (guest_with_account(beat.fishery).user, keeper(AlarmFactory().outing.beat.fishery)):
        assert client_of(who).get(LIST).json()["results"] == []
        assert client_of(who).post(f"{LIST}{row.pk}/acknowledge/").status_code == 404


# --- Expiring ----------------------------------------------------------------------------------


def test_what_can_no_longer_matter_expires_by_itself(alarm):
    now = timezone.now()
    over = AlarmFactory(cleared_at=now - 25 * HOUR)
    just_over = AlarmFactory(cleared_at=now - HOUR)
    rows = [lost(alarm), lost(over), lost(just_over)]
    recall = RecallFactory(beat=alarm.outing.beat, ended_at=now - 25 * HOUR)
    rows.append(DeliveryFactory(alarm=None, recall=recall, outing=alarm.outing, about="recall", state="given_up"))
    old = lost(alarm, recipient="+447700900777")
    Delivery.objects.filter(pk=old.pk).update(written_at=now - 8 * DAY)
    assert expire_undelivered(now=now) == 3
    assert closings(*rows, old) == ["", "expired", "", "expired", "expired"]
    assert expire_undelivered(now=now) == 0


def test_a_message_that_was_closed_is_not_tried_again(alarm, owner):
    row = lost(alarm, state="waiting")
    client_of(owner).post(f"{LIST}{row.pk}/acknowledge/")
    from safety.services.queueing import due_deliveries  # noqa: PLC0415

    assert not due_deliveries(timezone.now()).filter(pk=row.pk).exists()


# --- The pages ---------------------------------------------------------------------------------


def test_the_tally_leads_to_the_tasks_and_a_keeper_closes_them_there(alarm, owner, client, beat):
    row = lost(alarm)
    lost(alarm, turn=1)
    client.force_login(owner)
    at = f"/at/{beat.fishery.slug}/"
    assert f'href="{at}undelivered/"' in text(client.get(at))
    page = text(client.get(f"{at}undelivered/"))
    assert "Una Late" in page
    assert "2 messages failed at this address." in page
    assert client.get(f"{at}undelivered/{row.pk}/").status_code == 200
    wrong = client.post(f"{at}undelivered/{row.pk}/", {"address": "x"})
    assert wrong.status_code == 422
    assert "Write a telephone number that can be rung" in text(wrong)
    assert client.post(f"{at}undelivered/{row.pk}/", {"address": GOOD}).status_code == 303
    assert "No message is known to have failed" in text(client.get(f"{at}undelivered/"))


def test_a_get_closes_nothing_and_a_post_acknowledges(alarm, owner, client, beat):
    row = lost(alarm)
    client.force_login(owner)
    path = f"/at/{beat.fishery.slug}/undelivered/{row.pk}/acknowledge/"
    assert client.get(path).status_code == 200
    assert closings(row) == [""]
    assert client.post(path).status_code == 303
    assert closings(row) == ["acknowledged"]
    assert client.post(path).status_code == 303  # a second tap


def test_the_board_counts_the_tasks(alarm):
    lost(alarm)
    board = board_of(alarm.outing.beat.fishery, now=timezone.now())
    assert board.tasks == 1


def test_a_push_that_failed_is_no_task(alarm, owner):
    lost(alarm, channel="push")
    assert client_of(owner).get(LIST).json()["results"] == []
    assert watch_health(now=NOON).undelivered == 0
