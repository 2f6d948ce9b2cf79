"""Messages to other programs: written with the let, signed, sent over https to the open net alone, tried again."""

import datetime as dt
import json
import sys

import pytest
from django.db import transaction
from standardwebhooks.webhooks import Webhook, WebhookVerificationError

from bookings.models import Hook, HookMessage
from bookings.services.hooks import BadAddress, add_hook, send_messages
from bookings.services.lets import cancel_let, let_rods, share_rod
from tests.beats.feeds.server import NAME, playing
from tests.factories import GuestFactory, HookFactory, HookMessageFactory, client_of

pytestmark = pytest.mark.django_db
NOW = dt.datetime.now(tz=dt.UTC).replace(microsecond=0)  # the standard's library reads the clock itself
MONDAY = dt.date(2026, 5, 11)


@pytest.fixture(autouse=True)
def _now_when_the_test_begins(monkeypatch):
    """The library takes nothing older than five minutes, and a whole run takes longer than that."""
    monkeypatch.setattr(sys.modules[__name__], "NOW", dt.datetime.now(tz=dt.UTC).replace(microsecond=0))


@pytest.fixture
def feed():
    with playing() as feed:
        yield feed


@pytest.fixture
def hook(beat, feed):
    return HookFactory(fishery=beat.fishery, url=feed.url("/lets"))


def let_of(beat, owner):
    guest = GuestFactory(fishery=beat.fishery, name="Una Secret", phone="+447700900123")
    return let_rods(beat, booker=guest, first_on=MONDAY, last_on=MONDAY, rods=1, by=owner, now=NOW)[0]


def swept(feed, at=None):
    return send_messages(clock=lambda: at or NOW, door=feed.door())


def taken(hook, feed):
    """What the other side makes of it, with the standard's own library."""
    return [Webhook(hook.secret).verify(body, headers) for _, headers, body in feed.told]


def test_confirmed_changed_and_cancelled_are_told_in_turn(beat, owner, hook, feed):
    let = let_of(beat, owner)
    share_rod(let, rod=1, guest=GuestFactory(fishery=beat.fishery), by=owner, now=NOW + dt.timedelta(seconds=1))
    cancel_let(let, by=owner, now=NOW + dt.timedelta(seconds=2))
    assert swept(feed, NOW + dt.timedelta(seconds=3)).sent == 3
    told = taken(hook, feed)
    assert [(one["type"], one["data"]["edition"]) for one in told] == [
        ("let.confirmed", 1), ("let.changed", 2), ("let.cancelled", 3),
    ]  # fmt: skip
    assert {one["data"]["let"] for one in told} == {let.pk}


def test_a_message_names_no_guest_and_no_number(beat, owner, hook):
    let_of(beat, owner)
    body = HookMessage.objects.get().body
    assert ("Una" in body, "7700900123" in body) == (False, False)
    assert json.loads(body)["data"]["days"] == ["2026-05-11"]


def test_a_let_that_is_undone_tells_nobody(beat, owner, hook, feed):
    class Undone(Exception):
        pass

    def undo():
        with transaction.atomic():
            let_of(beat, owner)
            raise Undone

    with pytest.raises(Undone):
        undo()
    assert (swept(feed).sent, feed.told) == (0, [])


def test_hooks_of_another_water_and_revoked_ones_hear_nothing(beat, owner, hook, feed):
    HookFactory(url=feed.url())
    HookFactory(fishery=beat.fishery, url=feed.url(), revoked_at=NOW)
    let_of(beat, owner)
    assert [message.hook for message in HookMessage.objects.all()] == [hook]


def test_a_server_that_is_down_is_tried_again_with_the_same_id_and_a_new_signature(beat, owner, hook, feed):
    let_of(beat, owner)
    feed.status = 503
    assert swept(feed).failed == 1
    assert swept(feed, NOW + dt.timedelta(seconds=4)).failed == 0
    feed.status = 200
    assert swept(feed, NOW + dt.timedelta(seconds=5)).sent == 1
    first, second = ({name.lower(): value for name, value in headers.items()} for _, headers, _ in feed.told)
    assert first["webhook-id"] == second["webhook-id"]
    assert first["webhook-signature"] != second["webhook-signature"]


def test_a_server_says_gone_and_is_left_alone(beat, owner, hook, feed):
    let_of(beat, owner)
    feed.status = 410
    swept(feed)
    let_of(beat, owner)
    assert (HookMessage.objects.get().state, Hook.objects.get().revoked_at) == ("given_up", NOW)


def test_a_message_is_given_up_after_its_last_try(hook, feed):
    message = HookMessageFactory(hook=hook, attempts=9, written_at=NOW, next_try_at=NOW)
    feed.status = 500
    swept(feed)
    message.refresh_from_db()
    assert (message.state, message.last_fault) == ("given_up", "NotTaken: The server answered 500.")


def test_a_redirect_is_not_followed(beat, owner, hook, feed):
    let_of(beat, owner)
    feed.status, feed.headers = 302, {"Location": feed.url("/elsewhere")}
    assert (swept(feed).failed, [path for path, _, _ in feed.told]) == (1, ["/lets"])


def test_nothing_is_posted_to_an_address_inside(beat, owner, feed):
    HookFactory(fishery=beat.fishery, url=feed.url(host="localhost"))
    let_of(beat, owner)
    assert send_messages(clock=lambda: NOW).failed == 1  # by the real door
    assert (feed.told, "open net" in HookMessage.objects.get().last_fault) == ([], True)


def test_another_s_secret_does_not_fit(beat, owner, hook, feed):
    let_of(beat, owner)
    swept(feed)
    hook.secret = HookFactory().secret
    with pytest.raises(WebhookVerificationError):
        taken(hook, feed)


@pytest.mark.parametrize("url", [f"http://{NAME}/", f"https://me:pass@{NAME}/", "ftp://x.example/", "https://"])
def test_only_https_without_a_password_is_an_address(beat, owner, url):
    with pytest.raises(BadAddress):
        add_hook(beat.fishery, url=url, label="x", by=owner, now=NOW)


def test_the_secret_is_shown_once_and_in_no_list(beat, owner):
    client = client_of(owner)
    path = f"/api/v1/fisheries/{beat.fishery.slug}/hooks/"
    made = client.post(path, {"label": "books", "url": f"https://{NAME}/"}, format="json").json()
    assert made["secret"].startswith("whsec_")
    assert made["secret"] not in client.get(path).text
