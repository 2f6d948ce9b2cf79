"""Texts and calls by the gateway: out, signed; back, receipts and anglers' texts, each once."""

import base64
import datetime as dt
import json
import threading
from contextlib import contextmanager

import pytest
from django.utils import timezone
from rest_framework.test import APIClient

from beats.outbound import NotFetched
from safety import channels, signing
from safety.models import Delivery, GatewayEvent
from safety.services.deliver import Delivered, deliver
from tests.beats.feeds.server import playing
from tests.factories import NOON, AlarmFactory, BeatFactory, DeliveryFactory

SECRET = "whsec_" + base64.b64encode(b"a secret of the suite, 32 bytes!").decode()
SECOND, MINUTE = dt.timedelta(seconds=1), dt.timedelta(minutes=1)


# --- The signature ---


def test_the_published_vector():
    """Standard Webhooks, the libraries' own test: secret, id, time, body and signature."""
    at = dt.datetime.fromtimestamp(1614265330, dt.UTC)
    vector = {"message_id": "msg_p5jXN8AQM9LWM0D4loKWxJek", "at": at, "body": b'{"test": 2432232314}'}
    secret = "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw"
    given = signing.headers(secret, **vector)
    assert given[signing.SIGNATURE] == "v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE="
    assert signing.verified([secret], given=given, body=vector["body"], now=at) == vector["message_id"]


def signed(body=b"{}", *, at=NOON, secret=SECRET, message_id="msg_1", **change):
    return signing.headers(secret, message_id=message_id, at=at, body=body) | change


@pytest.mark.parametrize(
    ("given", "says"),
    [
        (signed(at=NOON - 6 * MINUTE), "five minutes"),
        (signed(at=NOON + 6 * MINUTE), "five minutes"),
        (signed(b'{"other": 1}'), "No signature fits"),
        (signed(secret="whsec_" + "B" * 32), "No signature fits"),
        (signed() | {signing.ID: "msg_2"}, "No signature fits"),
        (signed() | {signing.SIGNATURE: "v1,"}, "No signature fits"),
        (signed() | {signing.SIGNATURE: "v1,\u00fc"}, "No signature fits"),
        (signed() | {signing.TIMESTAMP: "NaN"}, "seconds since 1970"),
        (signed() | {signing.TIMESTAMP: "9" * 12}, "seconds since 1970"),
        (signed() | {signing.ID: "m" * 121}, "120 plain characters"),
        ({}, "Send webhook-id"),
    ],
)
def test_a_forged_old_or_broken_signature_is_refused(given, says):
    with pytest.raises(signing.NotSigned, match=says):
        signing.verified([SECRET], given=given, body=b"{}", now=NOON)


def test_while_a_secret_is_changed_either_is_taken():
    given = signed(secret="whsec_" + "B" * 32)
    given[signing.SIGNATURE] = f"v1,AAAA {given[signing.SIGNATURE]}"
    assert signing.verified([SECRET, "whsec_" + "B" * 32], given=given, body=b"{}", now=NOON) == "msg_1"


@pytest.mark.parametrize("secret", ["whsec_", "whsec_AAAA", "whsec_not base64!", ""])
def test_a_secret_too_short_to_guard_anything_is_refused(secret):
    with pytest.raises(ValueError, match="signing secret"):
        signing.checked(secret)


# Texts from anglers are in test_incoming_texts.py.


# --- Out, by a real https server ---


@pytest.fixture
def gateway(settings):
    settings.GATEWAY_URL, settings.GATEWAY_SECRETS = "https://gateway.example.org/", [SECRET]


@contextmanager
def taking(monkeypatch, settings, status=202, answer=b'{"id": "gw-7"}'):
    """A gateway on this machine that keeps what it is sent."""
    taken = []
    with playing("gateway.example.org") as feed:

        def do_post(handler):
            body = handler.rfile.read(int(handler.headers["Content-Length"]))
            taken.append((dict(handler.headers), body))
            handler.send_response(status)
            handler.send_header("Content-Length", str(len(answer)))
            handler.end_headers()
            handler.wfile.write(answer)

        feed.handler.do_POST = do_post
        monkeypatch.setattr(channels, "DOOR", feed.door())
        settings.GATEWAY_URL, settings.GATEWAY_SECRETS = feed.url("/send", "gateway.example.org"), [SECRET]
        yield taken


@pytest.mark.django_db
def test_a_text_leaves_signed_with_its_own_number_and_the_gateway_s_is_kept(monkeypatch, settings):
    delivery = DeliveryFactory(channel="text", recipient="+447700900111", body="Ring them.")
    with taking(monkeypatch, settings) as taken:
        assert deliver(clock=lambda: NOON) == Delivered(1, 0)
    ((headers, body),) = taken
    given = {name.lower(): value for name, value in headers.items()}
    assert signing.verified([SECRET], given=given, body=body, now=timezone.now()) == str(delivery.pk)
    assert json.loads(body) == {
        "type": "message.text",
        "data": {"reference": str(delivery.pk), "to": "+447700900111", "text": "Ring them."},
    }
    delivery.refresh_from_db()
    assert (delivery.state, delivery.provider_id) == ("sent", "gw-7")


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("status", "state"),
    [(500, "waiting"), (429, "waiting"), (401, "waiting"), (302, "waiting"), (422, "given_up")],
)
def test_what_the_gateway_does_not_take_is_tried_again_unless_it_never_will(monkeypatch, settings, status, state):
    delivery = DeliveryFactory(channel="text", recipient="+447700900111")
    with taking(monkeypatch, settings, status=status):
        assert deliver(clock=lambda: NOON) == Delivered(0, 1)
    delivery.refresh_from_db()
    moved = " It has moved; write its new address down." if status == 302 else ""
    assert (delivery.state, delivery.last_fault) == (state, f"NotTaken: The server answered {status}.{moved}")


@pytest.mark.django_db
@pytest.mark.parametrize(
    "url", ["http://gateway.example.org/", "https://user@gateway.example.org/", "https://127.0.0.1/"]
)
def test_nothing_is_posted_in_the_open_or_inside_the_house(settings, url):
    settings.GATEWAY_URL, settings.GATEWAY_SECRETS = url, [SECRET]
    with pytest.raises(NotFetched, match=r"https://|open net"):
        channels.by_gateway(DeliveryFactory(channel="text", recipient="+447700900111"))


@pytest.mark.django_db
def test_a_message_that_breaks_off_half_way_is_not_sent_by_a_second_address(monkeypatch, settings):
    """Whether the gateway took it is not known: it is for the lease and the id to send it again, once."""
    told = []
    with playing("gateway.example.org") as feed:
        feed.handler.do_POST = lambda handler: (told.append(1), handler.connection.close())
        monkeypatch.setattr(channels, "DOOR", feed.door(addresses=("127.0.0.1", "127.0.0.2", "127.0.0.3")))
        settings.GATEWAY_URL, settings.GATEWAY_SECRETS = feed.url("/send", "gateway.example.org"), [SECRET]
        with pytest.raises(NotFetched, match="could not be reached"):
            channels.by_gateway(DeliveryFactory(channel="text", recipient="+447700900111"))
    assert told == [1]


# --- Receipts ---

pytest_db = pytest.mark.django_db


def tell(kind, data, *, message_id=None, secret=SECRET, at=None):
    body = json.dumps({"type": kind, "data": data}).encode()
    given = signing.headers(secret,
    message_id=message_id or f"msg_{threading.get_ident()}_{GatewayEvent.objects.count()}",
                            at=at or timezone.now(), body=body)  # fmt: skip
    return APIClient().post("/api/v1/gateway/events/", data=body, content_type="application/json", headers=given)


@pytest.fixture
def sent():
    return DeliveryFactory(
        channel="text", recipient="+447700900111", state="sent", sent_at=NOON, provider_id="gw-7", person="guest:1"
    )


@pytest_db
@pytest.mark.parametrize(
    ("receipts", "state"),
    [
        (["delivered"], "delivered"),
        (["failed"], "failed"),
        (["failed", "delivered"], "delivered"),
        (["delivered", "failed"], "delivered"),
        (["delivered", "delivered", "failed", "delivered"], "delivered"),
        ([], "sent"),
    ],
)
def test_receipts_in_any_order_only_move_a_message_forward(gateway, sent, receipts, state):
    for kind in receipts:
        assert tell(f"message.{kind}", {"reference": str(sent.pk)}).status_code == 200
    sent.refresh_from_db()
    assert sent.state == state


@pytest_db
def test_a_receipt_names_its_message_by_the_gateway_s_number_too(gateway, sent):
    assert tell("message.delivered", {"id": "gw-7"}).json() == {"outcome": "delivered", "reply": ""}
    assert tell("message.delivered", {"id": "gw-8"}).json()["outcome"] == "no such message"


@pytest_db
def test_a_receipt_before_the_note_that_it_left_is_not_undone_by_it(gateway, sent):
    Delivery.objects.update(state="sending", sent_at=None)
    tell("message.delivered", {"reference": str(sent.pk)})
    deliver(clock=lambda: NOON + 10 * MINUTE)
    assert Delivery.objects.get().state == "delivered"


@pytest_db
def test_a_replayed_event_changes_nothing_and_a_forged_one_is_refused(gateway, sent):
    first = tell("message.delivered", {"reference": str(sent.pk)}, message_id="msg_once")
    Delivery.objects.update(state="sent")
    again = tell("message.delivered", {"reference": str(sent.pk)}, message_id="msg_once")
    forged = tell("message.delivered", {"reference": str(sent.pk)}, secret="whsec_" + "B" * 32)
    assert [first.json()["outcome"], again.json()["outcome"]] == ["delivered", "told before; nothing was changed"]
    assert (forged.status_code, Delivery.objects.get().state) == (401, "sent")


@pytest_db
def test_without_a_shared_secret_nothing_is_believed(settings, sent):
    settings.GATEWAY_SECRETS = []
    assert tell("message.delivered", {"reference": str(sent.pk)}).status_code == 401


@pytest_db
@pytest.mark.parametrize(("state", "calls"), [("sent", 1), ("delivered", 0)])
def test_a_call_follows_only_when_no_receipt_of_the_text_came(monkeypatch, settings, state, calls):
    alarm = AlarmFactory()
    facts = {"alarm": alarm, "recipient": "+447700900111", "person": "guest:1"}
    DeliveryFactory(channel="text", state=state, sent_at=NOON, **facts)
    DeliveryFactory(channel="voice", rank=1, next_try_at=NOON + 90 * SECOND, **facts)
    with taking(monkeypatch, settings) as taken:
        for seconds in (0, 89, 90, 100):
            deliver(clock=lambda seconds=seconds: NOON + seconds * SECOND)
    assert len(taken) == calls
    assert Delivery.objects.get(channel="voice").state == ("sent" if calls else "not_needed")


@pytest_db
def test_a_failed_text_brings_the_call_at_once(gateway, sent):
    call = DeliveryFactory(
        alarm=sent.alarm, channel="voice", rank=1, person="guest:1", next_try_at=timezone.now() + 10 * MINUTE
    )
    tell("message.failed", {"reference": str(sent.pk), "reason": "no such number"})
    call.refresh_from_db()
    assert call.next_try_at <= timezone.now()


@pytest_db
@pytest.mark.parametrize(("alone", "sends"), [(True, 4), (False, 2)])
def test_a_budget_bounds_texts_and_never_those_about_a_lone_angler(monkeypatch, settings, alone, sends):
    beat = BeatFactory(watch_policy={"texts_an_hour": 2})
    alarm = AlarmFactory(outing__beat=beat, outing__alone=alone)
    for number in range(4):
        DeliveryFactory(alarm=alarm, channel="text", recipient=f"+44770090011{number}")
    with taking(monkeypatch, settings) as taken:
        assert deliver(clock=lambda: NOON).sent == sends
    assert len(taken) == sends
    held = Delivery.objects.filter(state="waiting", last_fault__contains="its policy allows 2").count()
    assert held == 4 - sends


@pytest_db
@pytest.mark.parametrize(
    "body", [b"", b"[]", b"{}", b'{"type": "message.received"}', b'{"type": 1, "data": "x"}', b"\xff"]
)
def test_what_is_signed_but_makes_no_sense_is_refused_in_words(gateway, body):
    given = signing.headers(SECRET, message_id="msg_odd", at=timezone.now(), body=body)
    response = APIClient().post(
        "/api/v1/gateway/events/", data=body, content_type="application/json", headers=given
    )
    assert response.status_code == 400
    assert response.json()["type"].startswith("/api/v1/problems/")
