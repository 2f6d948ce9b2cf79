"""Every block of the cookbook, run as it stands against a live server, and what the blocks did to the book.

The hook's block is held against a message that the service really sends, over https, to a server of the
test's own; and against the vector that the Standard Webhooks specification's own suites use.
"""

import re
from pathlib import Path

import pytest
from django.utils import timezone

from beats.authentication import issue_token
from beats.models import Reading
from bookings.models import HookMessage, Let
from bookings.services.hooks import send_messages
from safety.services.pulse import beat_pulse
from sessions.models import Catch, Outing
from tests.beats.feeds.server import playing
from tests.factories import GaugeFactory, HookFactory, PoolFactory, guest_with_account, keeper
from tests.reference.test_standard_webhooks import AT_S, BODY, ID, SECRET, SIGNATURE

BOOK = Path(__file__).parents[2] / "config" / "COOKBOOK.md"
BLOCK = re.compile(r"^```(\w*)\n(.*?)^```$", re.MULTILINE | re.DOTALL)


def blocks():
    """(line in the file, what stands there), top to bottom."""
    text = BOOK.read_text(encoding="utf-8")
    return [(text[: found.start(2)].count("\n"), found[2]) for found in BLOCK.finditer(text)]


def run(some, names):
    for line, block in some:
        exec(compile("\n" * line + block, BOOK, "exec"), names)
    return names


@pytest.fixture
def people(beat, owner, live_server, monkeypatch):
    """The three of them, on a water with a pool and a gauge."""
    beat_pulse("sweep", now=timezone.now())  # the watch ran just now
    PoolFactory(beat=beat)
    GaugeFactory(fishery=beat.fishery)
    person = guest_with_account(beat.fishery).user
    everybody = {"OWNER": owner, "GHILLIE": keeper(beat.fishery, "ghillie"), "GUEST": person}
    for part, user in everybody.items():
        monkeypatch.setenv(f"{part}_TOKEN", issue_token(user, label="cookbook", now=timezone.now()))
    monkeypatch.setenv("RODTALLY_URL", live_server.url)


@pytest.mark.django_db(transaction=True)
def test_every_block_runs_as_it_stands_and_a_hook_hears_of_the_let(people, beat):
    with playing() as feed:
        hook = HookFactory(fishery=beat.fishery, url=feed.url("/lets"))
        told = {"print": lambda *_words: None}
        try:
            run(blocks(), told)
        finally:
            for part in ("owner", "ghillie", "guest"):
                told[part].close()
        assert send_messages(clock=timezone.now, door=feed.door()).sent == HookMessage.objects.count() == 1
    [(_, headers, body)] = feed.told
    headers = {name.lower(): value for name, value in headers.items()}
    assert told["verified"](hook.secret, headers, body)["data"]["let"] == told["let"]["id"]
    with pytest.raises(ValueError, match="not signed"):
        told["verified"](hook.secret, headers, body.replace(b"confirmed", b"cancelled"))
    with pytest.raises(ValueError, match="too old"):
        told["verified"](hook.secret, headers, body, now_s=timezone.now().timestamp() + 301)
    assert Outing.objects.get().checked_out_at
    assert (Let.objects.count(), Catch.objects.count(), Reading.objects.count()) == (1, 1, 1)


def test_the_hook_s_block_takes_the_published_vector():
    [(line, block)] = [each for each in blocks() if "def verified" in each[1]]
    assert len(block.splitlines()) < 60
    names = run([(line, block)], {})
    headers = {"webhook-id": ID, "webhook-timestamp": str(AT_S), "webhook-signature": SIGNATURE}
    assert names["verified"](SECRET, headers, BODY, now_s=AT_S) == {"test": 2432232314}


def test_no_block_is_left_out():
    text = BOOK.read_text(encoding="utf-8")
    assert {language for language, _ in BLOCK.findall(text)} == {"python"}
    assert len(blocks()) * 2 == len(re.findall("^```", text, flags=re.MULTILINE)) > 20
