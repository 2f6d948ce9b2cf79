"""What a page, a letter or an answer promises, this installation can do, and for this person.

Every combination of what may be set up is tried with an angler who has a number and one who has none; the texts
are those an angler meets from the check-in to the alarm.
"""

import itertools
import re
from typing import NamedTuple

import pytest
from django.urls import reverse
from django.utils import timezone

from beats.shared.signing import new_secret
from safety.models import Delivery
from safety.services.calling import call_in
from safety.services.pulse import beat_pulse
from safety.services.sweep import sweep
from sessions.models import Outing
from tests.factories import client_of, guest_with_account, keeper
from tests.pages import text
from tests.safety.test_push import SENDER

pytestmark = pytest.mark.django_db
SENDS = re.compile(
    r"\bwe (ring|text)\b|, (ring|text) (you|the)\b|and (ring|text) (you|the)\b|by text message|e-mail and text",
    re.IGNORECASE,
)
WRITES = re.compile(r"\bwe write\b|\bwrite to (you|the)\b|by e-mail", re.IGNORECASE)
ASKS_TEXT = re.compile(r"text (OUT|LATE|OK)\b|by text to|Send OUT|sms:|a text would go", re.IGNORECASE)
PUSHES = re.compile(r"data-push|A push is", re.IGNORECASE)


class Setup(NamedTuple):
    """What is set up, and whether the angler has a number."""

    email: bool
    gateway: bool
    texts: bool
    pushes: bool
    number: bool


COMBINATIONS = [Setup(*each) for each in itertools.product((True, False), repeat=5)]


def set_up(settings, *, email, gateway, texts, pushes):
    backend = "locmem" if email else "console"
    settings.EMAIL_BACKEND = f"django.core.mail.backends.{backend}.EmailBackend"
    settings.GATEWAY_URL = "https://gateway.example.org/" if gateway else ""
    settings.GATEWAY_SECRETS = [new_secret()] if gateway or texts else []
    settings.TEXT_NUMBER = "+447700900164" if texts else ""
    settings.WEB_PUSH_KEY = SENDER if pushes else ""


def everything_met(client, beat, guest):
    """All that an angler reads, from the check-in to the alarm; by where it stands."""
    now = timezone.now()
    due = (now + timezone.timedelta(hours=2)).isoformat()
    client.force_login(guest.user)
    found = {
        name: text(client.get(reverse(name, args=args)))
        for name, args in {
            "check-in": [beat.fishery.slug, beat.slug], "day-contact": [guest.pk], "my-phones": [],
        }.items()
    }  # fmt: skip
    body = {"guest": guest.pk, "beat": beat.pk, "alone": True, "due_back_at": due}
    answer = client_of(guest.user).post("/api/v1/outings/", body, format="json").json()
    found["answer"] = "\n".join(answer["told"])
    found["day"] = text(client.get(reverse("day")))
    found["day-meeting"] = text(client.get(reverse("day-meeting", args=[guest.pk])))
    found["day-help"] = text(client.get(reverse("day-help", args=[guest.pk])))
    call_in(beat, reason="The river is rising.", pools=[], by=keeper(beat.fishery), now=now)
    outing = Outing.objects.get()
    sweep(now=outing.warn_at)
    sweep(now=outing.alarm_at)
    sent = Delivery.objects.filter(person=f"guest:{guest.pk}")
    found |= {f"{row.about} {row.channel}": f"{row.subject}\n{row.body}" for row in sent}
    return found


@pytest.mark.parametrize("setup", COMBINATIONS, ids=str)
def test_nothing_is_promised_that_this_installation_cannot_do(client, beat, settings, setup):
    email, gateway, texts, pushes, number = setup
    set_up(settings, email=email, gateway=gateway, texts=texts, pushes=pushes)
    beat.watch_policy = None
    beat.save()
    person = keeper(beat.fishery)
    person.phone = "+447700900123"
    person.save()
    beat_pulse("sweep", now=timezone.now())
    guest = guest_with_account(beat.fishery, phone="+447700900111" if number else "")
    met = everything_met(client, beat, guest)
    assert len(met) >= 8
    for where, words in met.items():
        if not gateway:
            assert not SENDS.search(words), (where, SENDS.search(words))
        if not email:
            assert not WRITES.search(words), (where, WRITES.search(words))
        if not (texts and number):
            assert not ASKS_TEXT.search(words), (where, ASKS_TEXT.search(words))
        if not pushes:
            assert not PUSHES.search(words), (where, PUSHES.search(words))
    assert ("we ring" in met["answer"]) == gateway
    assert bool(WRITES.search(met["answer"])) == (email and not (gateway and number))
    assert bool(ASKS_TEXT.search(met["answer"])) == bool(ASKS_TEXT.search(met["day"])) == (texts and number)
    assert bool(PUSHES.search(met["my-phones"])) == pushes
    assert ("Nobody can ring you" in met["answer"]) == (not number)


def test_an_angler_without_a_number_is_not_promised_a_call(client, beat, settings):
    """With a gateway the keepers are rung; the angler, of whom only an address is known, is written to."""
    set_up(settings, email=True, gateway=True, texts=True, pushes=False)
    beat.watch_policy = None
    beat.save()
    person = keeper(beat.fishery)
    person.phone = "+447700900123"
    person.save()
    beat_pulse("sweep", now=timezone.now())
    guest = guest_with_account(beat.fishery, phone="")
    answer = everything_met(client, beat, guest)["answer"]
    assert "we ring the keepers and write to you" in answer
    assert "We have no way to reach your emergency contact" in answer


def test_an_emergency_contact_by_email_gets_what_went_by_telephone(beat):
    beat.watch_policy = None
    beat.save()
    keeper(beat.fishery)
    beat_pulse("sweep", now=timezone.now())
    guest = guest_with_account(
        beat.fishery, name="Una Quill", emergency_contact_name="Ruth", emergency_contact_email="ruth@example.org"
    )
    due = (timezone.now() + timezone.timedelta(hours=2)).isoformat()
    body = {"guest": guest.pk, "beat": beat.pk, "alone": True, "due_back_at": due}
    told = client_of(guest.user).post("/api/v1/outings/", body, format="json").json()["told"]
    assert any("write to the keepers and your emergency contact" in line for line in told)
    outing = Outing.objects.get()
    for minutes in (0, 10, 20):
        sweep(now=outing.alarm_at + timezone.timedelta(minutes=minutes))
    sent = Delivery.objects.get(recipient="ruth@example.org")
    assert sent.channel == "email"
    assert "Una Quill was due off the river" in sent.body
    assert not outing.alarms.filter(unreached__contains="emergency contact").exists()
