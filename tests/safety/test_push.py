"""Web push: sealed for one phone, signed by us, one more copy and proof of nothing.

Checked against: RFC 8291, Appendix A (the example message, its keys and its sealed form); RFC 8292 (the
token's claims and signature, read back by py_vapid); RFC 8030, 5.2, 5.3 and 7.3 (TTL, Urgency, a
subscription that is gone).
"""

import base64
import datetime as dt
import json
from contextlib import contextmanager

import http_ece
import pytest
from django.db import connection
from django.http import Http404
from django.test.utils import CaptureQueriesContext
from py_vapid import Vapid02
from py_vapid.jwt import decode

from beats.models import AuditEntry
from bookings.models import Guest
from bookings.services.forgetting import erase, everything_about
from safety import channels, push
from safety.models import Delivery, PushAddress
from safety.queries import board_of, watch_health
from safety.services.calling import call_in
from safety.services.deliver import Delivered, deliver, take
from safety.services.drills import start_drill
from safety.services.pushes import (
    MOST,
    BadPushAddress,
    NoPush,
    TooManyPushAddresses,
    add_push_address,
    drop_push_address,
)
from safety.services.sweep import sweep
from sessions.services.outings import check_out
from tests.beats.feeds.server import playing
from tests.factories import (
    NOON,
    AlarmFactory,
    BeatFactory,
    DeliveryFactory,
    GuestFactory,
    OutingFactory,
    PushAddressFactory,
    UserFactory,
    client_of,
    guest_with_account,
    keeper,
)

db = pytest.mark.django_db
SECOND, MINUTE, HOUR = dt.timedelta(seconds=1), dt.timedelta(minutes=1), dt.timedelta(hours=1)
DUE = NOON + 4 * HOUR
PLACE = "/api/v1/push-addresses/"
# RFC 8291, Appendix A.
SAID = b"When I grow up, I want to be a watermelon"
SENDER = "yfWPiYE-n46HLnH0KqZOF1fJJU3MYrct3AELtAQ-oRw"
SENDER_PUBLIC = "BP4z9KsN6nGRTbVYI_c7VJSPQTBtkgcy27mlmlMoZIIgDll6e3vCYLocInmYWAmS6TlzAC8wEqKK6PBru3jl7A8"
PHONE = "q1dXpw3UpT5VOmu_cf_v6ih07Aems3njxI-JWgLcM94"
PHONE_PUBLIC = "BCVxsr7N_eNgVRqvHtD0zTZsEc6-VV-JvLexhqUzORcxaOzi6-AYWXvTBHm4bjyPjs7Vd8pZGH6SRpkNtoIAiw4"
SALT, AUTH = "DGv6ra1nlYgDCS1FRnbzlw", "BTBZMqHH6r4Tts7J_aSIgg"
SEALED = (
    "DGv6ra1nlYgDCS1FRnbzlwAAEABBBP4z9KsN6nGRTbVYI_c7VJSPQTBtkgcy27ml"
    "mlMoZIIgDll6e3vCYLocInmYWAmS6TlzAC8wEqKK6PBru3jl7A_yl95bQpu6cVPT"
    "pK4Mqgkf1CXztLVBSt2Ks3oZwbuwXPXLWyouBWLVWGNWQexSgSxsj_Qulcy4a-fN"
)


def raw(text):
    return base64.urlsafe_b64decode(text + "=" * (-len(text) % 4))


def opened(sealed):
    """As the phone does."""
    return http_ece.decrypt(
        sealed, private_key=push.private_key(PHONE), auth_secret=raw(AUTH), version="aes128gcm"
    )


# --- Sealing and signing ---


def test_the_published_example_is_sealed_as_the_rfc_prints_it():
    sender = push.private_key(SENDER)
    assert push.sealed(SAID, phone_key=PHONE_PUBLIC, auth_secret=AUTH, salt=raw(SALT), sender=sender) == raw(
        SEALED
    )
    assert push.public_key(SENDER) == SENDER_PUBLIC
    assert opened(raw(SEALED)) == SAID


def test_the_same_message_is_never_sealed_the_same_way_twice():
    twice = [push.sealed(SAID, phone_key=PHONE_PUBLIC, auth_secret=AUTH) for _ in range(2)]
    assert twice[0] != twice[1]
    assert [opened(sealed) for sealed in twice] == [SAID, SAID]


def test_another_phone_cannot_read_it():
    sealed = push.sealed(SAID, phone_key=SENDER_PUBLIC, auth_secret=AUTH)
    with pytest.raises(http_ece.ECEException):
        opened(sealed)


def test_the_token_is_for_the_service_s_origin_and_less_than_a_day():
    given = push.headers(
        SENDER,
        "https://push.example.org:8443/p/1?x",
        contact="mailto:a@b.example",
        at=NOON,
        ttl_s=60,
        urgency="high",
    )
    assert Vapid02.verify(given["Authorization"])
    facts = dict(part.split("=", 1) for part in given["Authorization"].removeprefix("vapid ").split(","))
    claims = decode(facts["t"], facts["k"])
    assert claims["aud"] == "https://push.example.org:8443"
    assert claims["sub"] == "mailto:a@b.example"
    assert NOON < dt.datetime.fromtimestamp(claims["exp"], dt.UTC) <= NOON + dt.timedelta(days=1)
    assert (facts["k"], given["TTL"], given["Urgency"]) == (SENDER_PUBLIC, "60", "high")


@pytest.mark.parametrize("body", ["short", "é" * 5000, "x\n" * 3000, '"' * 4000, "🎣" * 1500])
def test_a_payload_fits_what_every_push_service_takes(body):
    made = push.payload("Title", body, {"open": "/"})
    assert len(made) <= push.MOST_BYTES
    told = json.loads(made)
    assert (told["title"], told["open"], told["body"][:2]) == ("Title", "/", body[:2])
    assert len(push.sealed(made, phone_key=PHONE_PUBLIC, auth_secret=AUTH)) <= 4096


@pytest.mark.parametrize("text", ["", "AAAA", "A" * 43, "_" * 43, "not base64url!"])
def test_a_key_that_is_none_is_refused(text):
    with pytest.raises(ValueError):
        push.private_key(text)


# --- Whose phone ---


@pytest.fixture
def pushing(settings):
    settings.WEB_PUSH_KEY = SENDER


def add(by, endpoint="https://push.example.org/p/own", **facts):
    given = {"phone_key": PHONE_PUBLIC, "auth_secret": AUTH, "label": "phone"} | facts
    return add_push_address(endpoint=endpoint, **given, by=by, now=NOON)


@db
def test_the_same_phone_asked_again_is_the_same_address_with_its_new_keys(pushing):
    user = UserFactory()
    (first, made), (again, new) = add(user), add(user, phone_key=SENDER_PUBLIC, label="new")
    assert (made, new, first.pk) == (True, False, again.pk)
    assert list(PushAddress.objects.values_list("public_key", "label")) == [(SENDER_PUBLIC, "new")]


@db
def test_a_phone_that_changes_hands_takes_nothing_written_to_its_last_person(pushing):
    before, _ = add(UserFactory())
    waiting = DeliveryFactory(channel="push", recipient=before.recipient)
    after, made = add(UserFactory())
    assert (made, PushAddress.objects.get().pk) == (True, after.pk)
    assert deliver(clock=lambda: NOON) == Delivered(0, 0)
    waiting.refresh_from_db()
    assert waiting.state == "not_needed"


@db
def test_ten_phones_are_enough(pushing):
    user = UserFactory()
    PushAddressFactory.create_batch(MOST - 1, user=user)
    add(user)
    add(user)  # the tenth again is no eleventh
    with pytest.raises(TooManyPushAddresses, match="Drop one"):
        add(user, endpoint="https://push.example.org/p/eleven")
    assert user.push_addresses.count() == MOST


@db
@pytest.mark.parametrize(
    "endpoint",
    ["http://push.example.org/1", "https://me@push.example.org/1", "https://127.0.0.1/1", "https://10.1.2.3/1",
     "https://[::1]/1", "https://169.254.169.254/latest", "ftp://push.example.org/", "push.example.org/1"],
)  # fmt: skip
def test_only_an_open_https_address_is_taken(pushing, endpoint):
    with pytest.raises(BadPushAddress, match=r"https://|open net"):
        add(UserFactory(), endpoint=endpoint)
    assert not PushAddress.objects.exists()


@db
@pytest.mark.parametrize("keys", [{"phone_key": "AAAA"}, {"phone_key": "B" * 87}, {"auth_secret": "AAAA"}])
def test_keys_that_no_browser_made_are_refused(pushing, keys):
    with pytest.raises(BadPushAddress, match="toJSON"):
        add(UserFactory(), **keys)


@db
def test_without_a_key_of_the_service_none_is_taken():
    with pytest.raises(NoPush, match="sends no pushes"):
        add(UserFactory())


@db
def test_a_page_can_do_it_all_and_nobody_is_told_where_a_phone_is(pushing):
    guest = guest_with_account(BeatFactory().fishery)
    client = client_of(guest.user)
    assert client.get(f"{PLACE}key/").json() == {"public_key": SENDER_PUBLIC}
    given = {
        "endpoint": "https://push.example.org/p/secret", "expirationTime": None,
        "keys": {"p256dh": PHONE_PUBLIC, "auth": AUTH},
    }  # fmt: skip
    made = client.post(PLACE, given, format="json")
    assert (made.status_code, client.post(PLACE, given, format="json").status_code) == (201, 200)
    told = client.get(PLACE).json()["results"]
    assert told == [
        {"id": made.json()["id"], "label": "", "host": "push.example.org", "made_at": told[0]["made_at"]}
    ]
    assert client.delete(f"{PLACE}{told[0]['id']}/").status_code == 204
    assert not PushAddress.objects.exists()
    assert "secret" not in str(list(AuditEntry.objects.values_list("before", "after")))


@db
def test_an_unfit_request_says_what_to_do(pushing):
    client = client_of(UserFactory())
    body = client.post(
        PLACE, {"endpoint": "https://push.example.org/1", "keys": {"auth": AUTH}}, format="json"
    ).json()
    assert "keys" in str(body["errors"])
    assert client.get(f"{PLACE}key/").status_code == 200


@db
def test_without_a_key_a_page_learns_that_nothing_is_pushed():
    assert client_of(UserFactory()).get(f"{PLACE}key/").json() == {"public_key": ""}


# --- What is written ---


def written():
    return sorted(Delivery.objects.filter(channel="push").values_list("about", "recipient"))


@pytest.fixture
def una(beat):
    beat.watch_policy = None  # the usual ladder, on which the angler is told too
    beat.save()
    return guest_with_account(beat.fishery, name="Una")


@db
def test_no_key_no_push(beat, owner, una):
    PushAddressFactory(user=owner)
    PushAddressFactory(user=una.user)
    OutingFactory(beat=beat, guest=una, warn_at=DUE - HOUR)
    sweep(now=DUE - HOUR)
    call_in(beat, reason="rising", by=owner, now=DUE - HOUR)
    start_drill(beat.fishery, by=owner, now=DUE)
    sweep(now=DUE)
    assert written() == []
    assert Delivery.objects.filter(about__in=["overdue", "reminder", "recall", "drill"]).exists()


@db
def test_an_alarm_goes_to_every_phone_of_angler_and_keeper_beside_the_other_channels(pushing, beat, owner, una):
    phones = [PushAddressFactory(user=user) for user in (owner, owner, una.user)]
    PushAddressFactory(user=keeper(BeatFactory().fishery))
    OutingFactory(beat=beat, guest=una)
    sweep(now=DUE)
    assert written() == sorted(("overdue", phone.recipient) for phone in phones)
    mailed = Delivery.objects.filter(channel="email", about="overdue").values_list("recipient", flat=True)
    assert sorted(mailed) == sorted([owner.email, una.email])


@db
def test_a_push_says_what_a_text_says(pushing, settings, beat, owner, una):
    settings.GATEWAY_URL, settings.GATEWAY_SECRETS = "https://gateway.example.org/", ["whsec_" + "B" * 32]
    owner.phone = "+447700900199"
    owner.save()
    PushAddressFactory(user=owner)
    OutingFactory(beat=beat, guest=una)
    sweep(now=DUE)
    said = Delivery.objects.filter(person=f"user:{owner.pk}", channel__in=["push", "text"])
    assert len({(row.subject, row.body) for row in said}) == 1
    assert len(said) == 2


@db
def test_an_angler_whom_nothing_else_reaches_is_still_noted_as_not_reached(pushing, beat, owner, una):
    guest = GuestFactory(fishery=beat.fishery, user=UserFactory(), email="", phone="")
    PushAddressFactory(user=guest.user)
    outing = OutingFactory(beat=beat, guest=guest)
    sweep(now=DUE)
    assert "no address or number" in outing.alarms.get().unreached
    assert len(written()) == 1


@db
def test_reminder_recall_all_clear_and_drill_go_too(pushing, beat, owner, una):
    hers, theirs = PushAddressFactory(user=una.user), PushAddressFactory(user=owner)
    outing = OutingFactory(beat=beat, guest=una, warn_at=DUE - HOUR)
    sweep(now=DUE - HOUR)
    call_in(beat, reason="rising", by=owner, now=DUE - HOUR)
    start_drill(beat.fishery, by=owner, now=DUE)
    sweep(now=DUE)
    deliver(clock=lambda: DUE)
    check_out(outing, by=owner, now=DUE + MINUTE)
    sweep(now=DUE + MINUTE)
    found = set(written())
    assert {("reminder", hers.recipient), ("recall", hers.recipient), ("drill", theirs.recipient)} <= found
    assert {("all_clear", hers.recipient), ("all_clear", theirs.recipient)} <= found


@db
@pytest.mark.parametrize("out", [1, 20])
def test_many_anglers_are_looked_up_in_one_question(request, beat, owner, una, out):
    request.getfixturevalue("pushing")
    PushAddressFactory(user=una.user)
    guests = [una, *(guest_with_account(beat.fishery) for _ in range(out - 1))]
    for guest in guests:
        OutingFactory(beat=beat, guest=guest)
    with CaptureQueriesContext(connection) as asked:
        assert sweep(now=DUE).raised == out
    assert sum("safety_pushaddress" in query["sql"] for query in asked.captured_queries) == 2  # keepers, anglers


# --- On the way ---


@contextmanager
def service(monkeypatch, status=201):
    """A push service on this machine."""
    with playing("push.example.org") as feed:
        feed.status = status
        monkeypatch.setattr(channels, "DOOR", feed.door())
        yield feed


def one(feed, **facts):
    address = PushAddressFactory(endpoint=feed.url("/p/abc", "push.example.org"))
    return DeliveryFactory(channel="push", recipient=address.recipient, **facts)


@db
def test_a_push_leaves_sealed_and_signed_and_only_the_phone_can_read_it(monkeypatch, pushing):
    with service(monkeypatch) as feed:
        delivery = one(feed, subject="OVERDUE: Una", body="Ring her.")
        assert deliver(clock=lambda: NOON) == Delivered(1, 0)
    ((path, headers, body),) = feed.told
    assert (path, headers["Content-Encoding"], headers["Content-Type"]) == (
        "/p/abc", "aes128gcm", "application/octet-stream",
    )  # fmt: skip
    assert (headers["TTL"], headers["Urgency"]) == ("3600", "high")
    assert Vapid02.verify(headers["Authorization"])
    told = json.loads(opened(body))
    assert (told["title"], told["body"], told["open"]) == ("OVERDUE: Una", "Ring her.", "/")
    assert (told["about"], told["alarm"]) == ("overdue", delivery.alarm_id)
    assert b"Una" not in body
    delivery.refresh_from_db()
    assert (delivery.state, delivery.provider_id) == ("sent", "")


@db
@pytest.mark.parametrize("role", ["owner", "ghillie"])
def test_a_keeper_s_push_opens_the_alarm_and_a_stranger_s_the_first_page(role):
    alarm = AlarmFactory()
    fishery = alarm.outing.beat.fishery
    delivery = DeliveryFactory(channel="push", alarm=alarm)
    at = f"/at/{fishery.slug}/alarms/{alarm.pk}/"
    assert channels._opens(delivery, PushAddressFactory(user=keeper(fishery, role))) == at
    assert channels._opens(delivery, PushAddressFactory()) == "/"


@db
@pytest.mark.parametrize("status", [404, 410])
def test_an_address_that_is_gone_is_forgotten(monkeypatch, pushing, status):
    with service(monkeypatch, status) as feed:
        delivery = one(feed)
        later = DeliveryFactory(channel="push", recipient=delivery.recipient, next_try_at=NOON + MINUTE)
        assert deliver(clock=lambda: NOON) == Delivered(0, 1)
        assert deliver(clock=lambda: NOON + MINUTE) == Delivered(0, 0)
    assert not PushAddress.objects.exists()
    delivery.refresh_from_db()
    later.refresh_from_db()
    assert (delivery.state, later.state, len(feed.told)) == ("given_up", "not_needed", 1)
    assert AuditEntry.objects.filter(verb="drop push address", by=None).count() == 1


@db
@pytest.mark.parametrize("status", [500, 503, 429, 403])
def test_what_is_not_taken_is_tried_again(monkeypatch, pushing, status):
    with service(monkeypatch, status) as feed:
        delivery = one(feed)
        assert deliver(clock=lambda: NOON) == Delivered(0, 1)
        delivery.refresh_from_db()
        assert delivery.state == "waiting"
        feed.status = 201
        assert deliver(clock=lambda: NOON + MINUTE) == Delivered(1, 0)
    assert PushAddress.objects.count() == 1


@db
def test_a_push_an_hour_old_is_not_sent(monkeypatch, pushing):
    with service(monkeypatch) as feed:
        delivery = one(feed, written_at=NOON - 2 * HOUR)
        assert take(delivery.pk, now=NOON) is None
    delivery.refresh_from_db()
    assert (delivery.state, feed.told) == ("not_needed", [])


@db
def test_a_push_to_an_address_inside_the_house_never_leaves(pushing):
    address = PushAddressFactory(endpoint="https://127.0.0.1/p/1")
    delivery = DeliveryFactory(channel="push", recipient=address.recipient)
    assert deliver(clock=lambda: NOON) == Delivered(0, 1)
    delivery.refresh_from_db()
    assert "open net" in delivery.last_fault


@db
def test_pushes_that_fail_hold_nothing_up_and_hide_nothing(monkeypatch, pushing, mailoutbox):
    sent = []
    monkeypatch.setitem(channels.CHANNELS, "push", lambda _row: sent.append(len(mailoutbox)) or 1 / 0)
    for _ in range(3):
        DeliveryFactory(channel="push", recipient=PushAddressFactory().recipient, next_try_at=NOON - HOUR)
    DeliveryFactory.create_batch(2)
    assert deliver(clock=lambda: NOON) == Delivered(2, 3)
    assert sent == [2, 2, 2]  # the mails had gone


@db
def test_a_push_that_takes_long_leaves_the_others_to_the_next_round(monkeypatch, pushing):
    ticks = iter(range(0, 1000, 3))
    monkeypatch.setattr("safety.services.deliver.time.monotonic", lambda: next(ticks))
    monkeypatch.setitem(channels.CHANNELS, "push", lambda _row: None)
    for _ in range(4):
        DeliveryFactory(channel="push", recipient=PushAddressFactory().recipient)
    assert deliver(clock=lambda: NOON) == Delivered(2, 0)  # of three seconds each


@db
def test_a_push_given_up_is_no_fault_of_the_watch_nor_of_a_drill(pushing, beat, owner):
    PushAddressFactory(user=owner)
    outing = OutingFactory(beat=beat)
    drill, _ = start_drill(beat.fishery, by=owner, now=DUE)
    sweep(now=DUE)
    Delivery.objects.filter(channel="push").update(state="given_up", last_fault="no", written_at=DUE - HOUR)
    Delivery.objects.exclude(channel="push").update(state="sent", sent_at=DUE)
    sweep(now=DUE + SECOND)
    drill.refresh_from_db()
    assert (drill.sent_at, outing.alarms.count()) == (DUE, 1)
    assert watch_health(now=DUE + 10 * SECOND).faults == ()
    assert board_of(beat.fishery, now=DUE + 10 * SECOND).undelivered == []


@db
def test_a_push_that_fails_for_good_does_not_make_the_telephone_ring(monkeypatch, pushing):
    with service(monkeypatch, 400) as feed:
        failed = one(feed, person="user:1")
        call = DeliveryFactory(
            alarm=failed.alarm, channel="voice", recipient="+447700900111", person="user:1", rank=1,
            next_try_at=NOON + 90 * SECOND,
        )  # fmt: skip
        deliver(clock=lambda: NOON)
    failed.refresh_from_db()
    call.refresh_from_db()
    assert (failed.state, call.next_try_at) == ("given_up", NOON + 90 * SECOND)


# --- Forgetting ---


@db
def test_everything_about_me_tells_of_my_phones_and_forgetting_takes_them_away(una):
    PushAddressFactory.create_batch(2, user=una.user, label="Una's phone")
    other = PushAddressFactory()
    told = everything_about(una, by=una.user, now=NOON)["push_addresses"]
    assert [(row["label"], row["host"]) for row in told] == [("Una's phone", "push.example.org")] * 2
    assert "https" not in str(told)
    erase(una, by=una.user, now=NOON)
    assert list(PushAddress.objects.all()) == [other]


@db
def test_whoever_is_told_of_by_two_phones_can_be_forgotten(una, beat):
    outing = OutingFactory(beat=beat, guest=una, checked_out_at=NOON)
    for phone in PushAddressFactory.create_batch(2, user=una.user):
        DeliveryFactory(
            alarm=None, outing=outing, about="reminder", channel="push", recipient=phone.recipient,
            person=f"guest:{una.pk}",
        )  # fmt: skip
    erase(una, by=una.user, now=NOON)
    assert {row.body for row in Delivery.objects.all()} == {"(forgotten)"}


@db
def test_a_keeper_elsewhere_keeps_their_phones(una):
    fishery = BeatFactory().fishery
    Guest.objects.create(fishery=fishery, user=una.user, name="Una")
    PushAddressFactory(user=una.user)
    erase(una, by=una.user, now=NOON)
    assert PushAddress.objects.count() == 1


@db
def test_nobody_drops_another_s_phone():
    address = PushAddressFactory()
    with pytest.raises(Http404):
        drop_push_address(address, by=UserFactory(), now=NOON)
