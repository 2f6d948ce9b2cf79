"""Texts from anglers, signed as the gateway signs them: what they change, what is kept, whom it reaches."""

import base64
import datetime as dt
import itertools
import json

import pytest
from django.urls import reverse
from django.utils import timezone
from rest_framework.test import APIClient

from bookings.services.forgetting import erase, everything_about
from bookings.text_codes import standing_code
from safety import signing
from safety.models import Alarm, AnglerMessage, Delivery
from safety.services.sweep import sweep
from sessions.models import Outing, Plan
from tests.factories import (
    BeatFactory,
    FisheryFactory,
    GuestFactory,
    OutingFactory,
    client_of,
    keeper,
)

pytestmark = pytest.mark.django_db
SECRET = "whsec_" + base64.b64encode(b"a secret of the suite, 32 bytes!").decode()
MINUTE = dt.timedelta(minutes=1)
NUMBER = "+447700900111"
COUNT = itertools.count()


@pytest.fixture(autouse=True)
def gateway(settings):
    settings.GATEWAY_URL, settings.GATEWAY_SECRETS = "https://gateway.example.org/", [SECRET]


@pytest.fixture
def outing():
    now = timezone.now()
    return OutingFactory(
        beat__lone_grace_minutes=0, code="4821", guest__phone=NUMBER, guest__name="Una Teal",
        checked_in_at=now - 60 * MINUTE, due_back_at=now + 60 * MINUTE, alarm_at=now + 60 * MINUTE,
        contact_number=1,
    )  # fmt: skip


@pytest.fixture
def ghillie(outing):
    return keeper(outing.beat.fishery, "ghillie")


def texted(text, number=NUMBER):
    body = json.dumps({"type": "message.received", "data": {"from": number, "text": text}}).encode()
    given = signing.headers(SECRET, message_id=f"msg_{next(COUNT)}", at=timezone.now(), body=body)
    return APIClient().post(
        "/api/v1/gateway/events/", data=body, content_type="application/json", headers=given
    ).json()  # fmt: skip


def notified():
    return Delivery.objects.filter(about="message")


# --- OFF, LATE, OK ---


@pytest.mark.parametrize("text", ["OFF 4821", "off, 4821", "off 4821 thanks"])
def test_off_with_its_code_checks_out_and_twice_is_no_harm(outing, text):
    assert texted(text) == {"outcome": "off", "reply": "Una Teal is off the water. The watch has ended."}
    outing.refresh_from_db()
    assert outing.checked_out_at is not None
    assert texted(text)["outcome"] == "off before"


def test_late_extends_within_the_policy_and_gives_a_new_number(outing):
    assert texted("LATE 30 4821")["outcome"] == "late"
    before = outing.due_back_at
    outing.refresh_from_db()
    assert (outing.due_back_at, outing.deadline_number) == (before + 30 * MINUTE, 2)
    type(outing.beat).objects.update(longest_outing_minutes=120)
    assert texted("LATE 240 4821")["outcome"] == "refused: bad-due-back"


def test_ok_renews_the_contact_and_leaves_the_time_back(outing):
    assert texted("ok 4821")["outcome"] == "ok"
    outing.refresh_from_db()
    assert (outing.contact_number, outing.deadline_number) == (2, 1)


@pytest.mark.parametrize("text", ["OFF", "OFF 1111", "LATE 30", "OK", "OK 9999"])
def test_without_the_right_code_nothing_that_quiets_the_watch_is_believed(outing, text):
    assert texted(text)["reply"].startswith("We know no one on the water under that number and code.")
    outing.refresh_from_db()
    assert (outing.checked_out_at, outing.deadline_number, outing.contact_number) == (None, 1, 1)


@pytest.mark.parametrize("number", ["+447700900999", "not a number", ""])
def test_from_a_number_that_is_not_known_nothing_is_believed_even_with_the_code(outing, number):
    texted("OFF 4821", number)
    texted("HELP", number)
    outing.refresh_from_db()
    assert (outing.checked_out_at, Alarm.objects.count()) == (None, 0)


def test_a_keeper_may_text_for_an_angler_of_their_own_water_alone(outing):
    for beat, number in ((outing.beat, "+447700900501"), (BeatFactory(), "+447700900502")):
        person = keeper(beat.fishery)
        person.phone = number
        person.save()
    assert texted("OFF 4821", "+447700900502")["outcome"] == "no such code from that number"
    assert texted("OFF 4821", "+447700900501")["outcome"] == "off"


def test_a_forged_number_cannot_try_every_code_and_help_is_heard_all_the_same(outing, ghillie):
    """1 in 9000 a try; ASVS 5.0 (6.6.3) asks that codes be guarded against trying them all."""
    tried = [texted(f"OFF {1000 + number}")["outcome"] for number in range(25)]
    assert tried == ["no such code from that number"] * 10 + ["refused: too-often"] * 15
    assert "ring 999" in texted("OFF 4821")["reply"]
    outing.refresh_from_db()
    assert outing.checked_out_at is None
    assert texted("HELP 4821")["outcome"] == "help"


# --- OUT and IN ---


@pytest.mark.parametrize("text", ["OUT 4821", "OUT, 4821", "out 4821 thanks", "IN 4821"])
def test_out_and_in_change_nothing_say_what_to_send_and_are_shown(client, outing, ghillie, text):
    told = texted(text)
    assert "Send OFF 4821 if you have left the water" in told["reply"]
    outing.refresh_from_db()
    assert (outing.checked_out_at, outing.deadline_number) == (None, 1)
    client.force_login(ghillie)
    assert text in client.get(reverse("water", args=[outing.beat.fishery.slug])).content.decode()


# --- ON ---


@pytest.fixture
def guest(ghillie, outing):
    fishery = FisheryFactory(slug="other-water")
    BeatFactory(fishery=fishery, name="Only Beat")
    return GuestFactory(fishery=fishery, phone="+447700900222", name="Iona Rede")


def test_on_with_the_standing_code_goes_on_the_water_and_off_with_the_same_ends_it(guest):
    code = standing_code(guest.pk)
    told = texted(f"on {code} tight lines", guest.phone)
    assert told["outcome"] == "on"
    assert f"Send OFF {code} when you are off the water" in told["reply"]
    out = Outing.objects.get(guest=guest)
    assert (out.alone, out.unconfirmed, out.code, out.checked_out_at) == (True, False, code, None)
    longest = out.checked_in_at + dt.timedelta(minutes=out.beat.longest_outing_minutes)
    assert out.checked_in_at < out.due_back_at <= longest
    assert texted(f"ON {code}", guest.phone)["outcome"] == "refused: already-out"
    assert texted(f"OFF {code}", guest.phone)["outcome"] == "off"


def test_on_begins_the_plan_there_is_with_its_own_facts(guest):
    now, beat = timezone.now(), guest.fishery.beats.get()
    due = now + 200 * MINUTE
    plan = Plan.objects.create(
        guest=guest, beat=beat, alone=False, out_at=now + 60 * MINUTE, due_back_at=due, planned_at=now
    )
    assert texted(f"ON {standing_code(guest.pk)}", guest.phone)["outcome"] == "on"
    out = Outing.objects.get(guest=guest)
    plan.refresh_from_db()
    assert (plan.outing_id, out.due_back_at, out.alone, out.unconfirmed) == (out.pk, due, False, False)


def test_on_confirms_an_outing_that_its_plan_has_begun(guest):
    now, beat = timezone.now(), guest.fishery.beats.get()
    Plan.objects.create(
        guest=guest, beat=beat, alone=True, out_at=now - MINUTE, due_back_at=now + 90 * MINUTE, planned_at=now
    )
    sweep(now=now)
    out = Outing.objects.get(guest=guest)
    assert (out.unconfirmed, out.code) == (True, standing_code(guest.pk))
    assert texted(f"ON {out.code}", guest.phone)["outcome"] == "on"
    out.refresh_from_db()
    assert out.unconfirmed is False
    assert Outing.objects.filter(guest=guest).count() == 1


def test_on_that_checks_nobody_in_says_so_and_reaches_the_keeper_on_duty(guest):
    keeper(guest.fishery, "ghillie")
    BeatFactory(fishery=guest.fishery)
    told = texted(f"ON {standing_code(guest.pk)}", guest.phone)
    assert told["reply"].startswith("You are NOT checked in")
    assert not Outing.objects.filter(guest=guest).exists()
    assert "Iona Rede" in notified().latest("written_at").body


def test_somebody_elses_code_checks_nobody_in(guest, outing):
    assert texted(f"ON {standing_code(guest.pk)}")["outcome"] == "no such code from that number"
    assert not Outing.objects.filter(guest=guest).exists()


# --- HELP ---


def test_help_needs_no_code_and_raises_at_once_and_once(outing, ghillie):
    assert [texted("HELP")["outcome"] for _ in range(2)] == ["help", "help"]
    assert Alarm.objects.values_list("kind", "stage").get() == ("help", 1)
    assert sweep(now=timezone.now()).cleared == 0


def test_help_keeps_its_words_in_the_alarm_the_card_and_the_pages(client, outing, ghillie):
    texted("help me <b>leg broken</b> below the weir")
    alarm = Alarm.objects.get()
    mail = Delivery.objects.filter(alarm=alarm, channel="email").first()
    assert 'Their words: "help me <b>leg broken</b> below the weir"' in mail.body
    assert mail.body.count("leg broken") == 2  # above, and on the emergency card
    client.force_login(ghillie)
    page = client.get(reverse("water-alarm", args=[outing.beat.fishery.slug, alarm.pk])).content.decode()
    assert "help me &lt;b&gt;leg broken&lt;/b&gt; below the weir" in page
    assert "<b>leg broken" not in page
    api = client_of(ghillie)
    assert "leg broken" in api.get(f"/api/v1/alarms/{alarm.pk}/").json()["words"]
    assert "leg broken" in api.get(f"/api/v1/alarms/{alarm.pk}/card/").json()["text"]


def test_more_words_after_a_call_for_help_are_added_and_reach_the_keeper(outing, ghillie):
    texted("HELP")
    assert not notified().exists()
    texted("help cannot stand up")
    assert Alarm.objects.get().words == "help cannot stand up"
    assert "cannot stand up" in notified().get().body
    assert "no alarm could be raised" not in notified().get().subject


def test_words_stay_with_every_stage(outing, ghillie):
    type(outing.beat).objects.update(watch_policy={})  # the usual ladder of four stages
    texted("help leg broken")
    for minutes in range(0, 90, 5):
        sweep(now=timezone.now() + minutes * MINUTE)
    stages = Alarm.objects.filter(kind="help")
    assert stages.count() > 1
    assert set(stages.values_list("words", flat=True)) == {"help leg broken"}


def test_help_after_check_out_stays_until_a_keeper_closes_it(client, outing, ghillie):
    texted("OFF 4821")
    assert texted("help fell on the bank")["outcome"] == "help"
    for minutes in range(0, 120, 10):
        assert sweep(now=timezone.now() + minutes * MINUTE).cleared == 0
    alarm = Alarm.objects.order_by("stage").first()
    client.force_login(ghillie)
    tally = client.get(reverse("water", args=[outing.beat.fishery.slug])).content.decode()
    assert "Una Teal: ASKS FOR HELP" in tally
    assert "0 rods on the water" in tally
    page = reverse("water-alarm-close", args=[outing.beat.fishery.slug, alarm.pk])
    assert client.post(page, {"note": " "}).status_code == 422
    assert client.post(page, {"note": "Spoke to her at the hut: a sprained ankle"}).status_code == 303
    assert not Alarm.objects.filter(cleared_at__isnull=True).exists()
    told = Delivery.objects.filter(alarm__outing=outing, about="all_clear")
    assert "a sprained ankle" in told.first().body
    assert sweep(now=timezone.now() + 180 * MINUTE).raised == 0


def test_a_check_out_before_the_call_does_not_answer_it_and_one_after_it_does(outing, ghillie):
    texted("HELP")
    now = timezone.now()
    Outing.objects.update(checked_out_at=now - 30 * MINUTE)  # said earlier, arrived later
    assert sweep(now=now + MINUTE).cleared == 0
    Outing.objects.update(checked_out_at=now + MINUTE)
    assert sweep(now=now + 2 * MINUTE).cleared == 1


def test_only_a_call_for_help_is_closed_by_hand(outing, ghillie):
    Outing.objects.update(due_back_at=timezone.now() - MINUTE, alarm_at=timezone.now() - MINUTE)
    sweep(now=timezone.now())
    alarm = Alarm.objects.get(kind="overdue")
    answer = client_of(ghillie).post(f"/api/v1/alarms/{alarm.pk}/close/", {"note": "x"}, format="json")
    assert (answer.status_code, answer.json()["type"]) == (409, "/api/v1/problems/not-closed-by-hand")


def test_help_from_any_telephone_that_names_the_code_is_heard(outing, ghillie):
    assert texted("help 4821 she fell in", "+447700900777")["outcome"] == "help"
    assert Alarm.objects.get().outing == outing


def test_help_of_a_guest_who_is_not_out_reaches_the_keepers(guest):
    keeper(guest.fishery, "ghillie")
    assert texted("HELP stuck on the island", guest.phone)["outcome"] == "HELP from somebody not on the water"
    assert notified().first().subject.startswith("HELP: Iona Rede")
    assert "stuck on the island" in notified().first().body


# --- Every message is kept and shown ---


@pytest.mark.parametrize("text", ["broke my rod tip", "OFF 4821 soon", "<script>alert(1)</script>", "🎣 عصا"])
def test_what_is_not_understood_is_kept_shown_and_reaches_the_keeper_on_duty(client, outing, ghillie, text):
    assert texted(text)["outcome"] == "not understood"
    message = AnglerMessage.objects.get()
    assert (message.text, message.outing, message.understood) == (text, outing, False)
    assert text in notified().filter(recipient=ghillie.email).get().body
    client.force_login(ghillie)
    page = client.get(reverse("water", args=[outing.beat.fishery.slug])).content.decode()
    assert "Read this:" in page
    assert "<script>alert" not in page
    board = client_of(ghillie).get(f"/api/v1/fisheries/{outing.beat.fishery.slug}/board/").json()
    assert board["texts"][0]["text"] == text


def test_what_was_understood_is_kept_too_and_disturbs_nobody(outing, ghillie):
    for text in ("ok 4821", "LATE 30 4821", "OFF 4821"):
        texted(text)
    rows = client_of(ghillie).get("/api/v1/angler-messages/").json()["results"]
    assert [(row["text"], row["understood"]) for row in rows] == [
        ("OFF 4821", True), ("LATE 30 4821", True), ("ok 4821", True),
    ]  # fmt: skip
    assert not notified().exists()


def test_words_beside_a_command_reach_the_keeper_though_it_was_done(outing, ghillie):
    assert texted("OFF 4821 but I broke my wrist")["outcome"] == "off"
    assert "broke my wrist" in notified().get().body
    assert "Rodtally took it as OFF." in notified().get().body


def test_a_flood_of_texts_is_kept_and_does_not_flood_the_keeper(outing, ghillie):
    for number in range(25):
        texted(f"hello {number}")
    assert AnglerMessage.objects.count() == 25
    assert notified().filter(recipient=ghillie.email, channel="email").count() == 20


def test_a_long_text_and_odd_characters_are_stored(outing, ghillie):
    texted("a\x00b" + "x" * 5000)
    assert AnglerMessage.objects.get().text == "ab" + "x" * 1598


def test_a_guest_sees_none_and_another_fishery_none(outing, ghillie):
    texted("broke my rod tip")
    stranger = keeper(BeatFactory().fishery)
    for person in (keeper(outing.beat.fishery, "guest"), stranger):
        assert client_of(person).get("/api/v1/angler-messages/").json()["results"] == []


def test_words_are_told_to_the_guest_and_forgotten_with_them(outing, ghillie):
    owner, now = keeper(outing.beat.fishery, "owner"), timezone.now()
    texted("help leg broken")
    assert "leg broken" in json.dumps(everything_about(outing.guest, by=owner, now=now), default=str)
    texted("OFF 4821")
    sweep(now=now + MINUTE)
    erase(outing.guest, by=owner, now=now + MINUTE)
    left = [*AnglerMessage.objects.values_list("text", flat=True), *Alarm.objects.values_list("words", flat=True)]
    left += list(Delivery.objects.values_list("body", flat=True))
    assert not any("leg broken" in text for text in left)
    assert set(AnglerMessage.objects.values_list("sender", flat=True)) == {""}
