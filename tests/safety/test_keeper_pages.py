"""The ghillie's pages of the watch: what is seen, what is done, and what a GET never does."""

import base64
import datetime as dt
import re

import pytest
from django.utils import timezone

from beats.models import AuditEntry, Reading
from beats.shared.both_ways import kept_apart
from bookings.papers.code import picture
from bookings.permits import check_in_address
from safety.grid_reference import grid_reference
from safety.models import Acknowledgement, Recall
from tests.factories import (
    AlarmFactory,
    BeatFactory,
    DeliveryFactory,
    GaugeFactory,
    GuestFactory,
    OutingFactory,
    PoolFactory,
    ReadingFactory,
    RecallCallFactory,
    RecallFactory,
    guest_with_account,
    keeper,
)
from tests.pages import text

pytestmark = pytest.mark.django_db
HOUR = dt.timedelta(hours=1)


@pytest.fixture
def ghillie(beat):
    return keeper(beat.fishery, "ghillie")


@pytest.fixture
def at(beat, client, ghillie):
    """The address of a page of the water; the client is the ghillie's."""
    client.force_login(ghillie)
    return lambda path="": f"/at/{beat.fishery.slug}/{path}"


def out(beat, *, late: dt.timedelta = -HOUR, **facts):
    """Somebody on the water, due back `late` ago."""
    due = timezone.now() - late
    facts = {"checked_in_at": due - 4 * HOUR, "due_back_at": due, "alarm_at": due} | facts
    return OutingFactory(beat=beat, **facts)


@pytest.fixture
def alarm(beat):
    guest = GuestFactory(fishery=beat.fishery, name="Una Late", phone="+447700900123")
    return AlarmFactory(outing=out(beat, late=HOUR, guest=guest))


def counted() -> tuple[int, ...]:
    tables = (AuditEntry, Acknowledgement, Recall, Reading)
    return tuple(table.objects.count() for table in tables)


PAGES = ("", "recall/", "level/")


def test_a_get_writes_nothing(beat, client, at, alarm):
    recall = RecallFactory(beat=beat)
    before = counted()
    for path in (*PAGES, f"alarms/{alarm.pk}/", f"recall/{recall.pk}/end/"):
        assert client.get(at(path)).status_code == 200
    assert counted() == before
    recall.refresh_from_db()
    assert recall.ended_at is None


# --- The tally ---------------------------------------------------------------------------------


def test_whoever_needs_looking_for_first_is_at_the_top(beat, client, at, alarm):
    out(beat, guest=GuestFactory(fishery=beat.fishery, name="Ian Early"))
    page = text(client.get(at()))
    assert page.index("Una Late") < page.index("Ian Early")
    assert f"/at/{beat.fishery.slug}/alarms/{alarm.pk}/" in page
    assert "NOBODY HAS ANSWERED" in page
    assert 'href="tel:+447700900123"' in page


def test_a_watch_that_has_not_swept_is_told_in_words(client, at):
    assert "The watch has not swept yet" in text(client.get(at()))


def test_what_did_not_arrive_and_who_is_on_duty_are_told(beat, client, at, alarm, ghillie):
    DeliveryFactory(alarm=alarm, state="given_up", recipient="hut@example.org", last_fault="mailbox full")
    page = text(client.get(at()))
    assert "the message to hut@example.org (Email) did not arrive: mailbox full" in page
    assert str(ghillie) in page


def test_only_the_owner_is_shown_the_owners_desk(beat, client, at):
    desk = f"/at/{beat.fishery.slug}/house/"
    assert desk not in text(client.get(at()))
    client.force_login(keeper(beat.fishery))
    assert desk in text(client.get(at()))


@pytest.mark.parametrize("rods", [1, 30])
def test_the_tally_asks_as_often_for_thirty_rods_as_for_one(rods, beat, client, at, django_assert_num_queries):
    for _ in range(rods):
        AlarmFactory(outing=out(beat, late=HOUR))
    with django_assert_num_queries(30):
        assert client.get(at()).status_code == 200


# --- An alarm ----------------------------------------------------------------------------------


def test_an_alarm_shows_what_999_asks_and_who_was_told(client, at, alarm):
    DeliveryFactory(alarm=alarm, recipient="keeper@example.org")
    page = text(client.get(at(f"alarms/{alarm.pk}/")))
    assert "Una Late" in page
    assert "Grid reference" in page
    assert "keeper@example.org" in page
    assert "Nobody answers for this now" in page


def test_to_answer_names_the_ghillie_and_holds_the_alarm(client, at, alarm, ghillie):
    answer = client.post(at(f"alarms/{alarm.pk}/"), {"minutes": "30", "note": "the tail of the croy"})
    assert (answer.status_code, answer["Location"]) == (303, at(f"alarms/{alarm.pk}/"))
    ack = Acknowledgement.objects.get()
    assert (ack.by, ack.note) == (ghillie, "the tail of the croy")
    assert ack.promised_until - ack.at == dt.timedelta(minutes=30)
    assert f"{ghillie} answers until" in text(client.get(at(f"alarms/{alarm.pk}/")))


def test_an_alarm_that_is_over_refuses_an_answer_and_keeps_what_was_typed(client, at, alarm):
    alarm.cleared_at = timezone.now()
    alarm.save()
    answer = client.post(at(f"alarms/{alarm.pk}/"), {"minutes": "15", "note": "behind the island"})
    assert answer.status_code == 422
    assert "This alarm is over" in text(answer)
    assert "behind the island" in text(answer)
    assert not Acknowledgement.objects.exists()


# --- A recall ----------------------------------------------------------------------------------


def call(client, at, beat, **facts):
    facts = {"beat": beat.pk, "reason": "river", "key": "7f1f3a52-50d1-4c0e-a0f3-6c8e2b7a9d10"} | facts
    return client.post(at("recall/"), facts)


def test_one_press_calls_every_rod_of_the_beat_and_a_second_tap_calls_nobody_again(beat, client, at):
    rods = [out(beat), out(beat)]
    for _ in range(2):
        assert call(client, at, beat).status_code == 303
    recall = Recall.objects.get()
    assert recall.reason == "The river is rising."
    assert {each.outing for each in recall.calls.all()} == set(rods)
    page = text(client.get(at("recall/")))
    assert page.count("NO ANSWER YET") == 2


def test_each_beat_has_a_button_that_says_all_in_one_press_until_it_is_called(beat, client, at):
    BeatFactory(fishery=beat.fishery, name="Lower")
    page = text(client.get(at("recall/")))
    assert f"{beat.name}: everybody off the water, the river is rising" in page
    keys = re.findall(r'name="key" value="([^"]+)"', page)
    assert len(set(keys)) == len(keys) == 3
    assert call(client, at, beat, key=keys[0]).status_code == 303
    page = text(client.get(at("recall/")))
    assert f"{beat.name}: everybody off the water" not in page
    assert "Lower: everybody off the water" in page


def test_chosen_pools_and_own_words_go_into_the_recall(beat, client, at):
    pool, other = PoolFactory(beat=beat), PoolFactory(beat=beat)
    there = out(beat, pool=pool)
    out(beat, pool=other)
    call(client, at, beat, pools=[pool.pk], words="The weir gate is opening.")
    recall = Recall.objects.get()
    assert (recall.pools, recall.reason) == ([pool.pk], "The weir gate is opening.")
    assert [each.outing for each in recall.calls.all()] == [there]


def test_a_pool_of_another_beat_is_refused_and_nothing_typed_is_lost(beat, client, at):
    stray = PoolFactory(beat=BeatFactory(fishery=beat.fishery))
    answer = call(client, at, beat, pools=[stray.pk], words="A tree is coming down.")
    assert answer.status_code == 422
    assert "A pool is not of this beat" in text(answer)
    assert "A tree is coming down." in text(answer)
    assert not Recall.objects.exists()


def test_who_answered_is_told_and_a_recall_ends_by_a_second_page(beat, client, at):
    made = RecallCallFactory(recall=RecallFactory(beat=beat), outing=out(beat), answered_at=timezone.now())
    assert "coming off the water, said at" in text(client.get(at("recall/")))
    assert client.post(at(f"recall/{made.recall_id}/end/")).status_code == 303
    made.recall.refresh_from_db()
    assert made.recall.ended_at is not None


# --- A level -----------------------------------------------------------------------------------


def test_a_level_is_noted_once_however_often_it_is_tapped(beat, client, at, ghillie):
    gauge = GaugeFactory(fishery=beat.fishery)
    facts = {"gauge": gauge.pk, "level_m": "1.25", "ago": "60", "water_c": ""}
    assert client.post(at("level/"), facts).status_code == 303
    reading = Reading.objects.get()
    assert (reading.level_m, reading.by, reading.source) == (1.25, ghillie, "hand")
    assert dt.timedelta(minutes=60) <= timezone.now() - reading.at < dt.timedelta(minutes=62)


@pytest.mark.parametrize(
    ("age_s", "minutes"), [("3600", 60), ("soon", 0), ("nan", 0), ("-50", 0), ("1e30", 7 * 24 * 60)]
)
def test_a_level_that_waited_for_signal_keeps_the_time_it_was_read(age_s, minutes, beat, client, at):
    gauge = GaugeFactory(fishery=beat.fishery)
    facts = {"gauge": gauge.pk, "level_m": "1.25", "ago": "0", "water_c": "", "said_age_s": age_s}
    assert client.post(at("level/"), facts).status_code == 303
    waited = timezone.now() - Reading.objects.get().at
    assert dt.timedelta(minutes=minutes) <= waited < dt.timedelta(minutes=minutes + 2)
    assert 'data-keep="A level"' in text(client.get(at("level/")))


def test_a_level_of_unknown_age_is_never_shown_as_fresh(beat, client, at):
    facts = {
        "gauge": GaugeFactory(fishery=beat.fishery).pk,
        "level_m": "1.25",
        "ago": "0",
        "said_age_s": "unknown",
    }
    answer = client.post(at("level/"), facts)
    assert answer.status_code == 422
    assert "Read the board again" in text(answer)
    assert not Reading.objects.exists()


def test_the_level_is_told_with_its_age_and_whether_the_river_rises(beat, client, at):
    gauge = GaugeFactory(fishery=beat.fishery, name="Stone")
    for minutes, level_m in ((95, 0.5), (50, 0.6), (5, 0.7)):
        ReadingFactory(gauge=gauge, at=timezone.now() - dt.timedelta(minutes=minutes), level_m=level_m)
    page = text(client.get(at("level/")))
    assert "Stone: 0.70 m, read 5 min ago." in page
    assert "RISING 0.13 m an hour" in page  # 0.2 m in an hour and a half, by hand


def test_a_level_nobody_can_read_is_refused_and_stays_typed(beat, client, at):
    gauge = GaugeFactory(fishery=beat.fishery)
    answer = client.post(at("level/"), {"gauge": gauge.pk, "level_m": "knee deep", "ago": "0"})
    assert answer.status_code == 422
    assert "knee deep" in text(answer)
    assert not Reading.objects.exists()


def test_another_waters_gauge_cannot_be_chosen(client, at):
    answer = client.post(at("level/"), {"gauge": GaugeFactory().pk, "level_m": "1", "ago": "0"})
    assert answer.status_code == 422
    assert not Reading.objects.exists()


# --- What nobody expects -----------------------------------------------------------------------

BACKWARDS = "\u05d1\u05e8\u05d5\u05db\u05d4 \u202efo liat"
"""Right-to-left letters, and the mark that turns round whatever follows it (Unicode Standard Annex 9, RLO)."""


@pytest.mark.parametrize("surname", ["Wolfeschlegelsteinha", "Featherstonehaugh-" * 5])
def test_a_surname_of_twenty_letters_or_of_ninety_is_told_whole(surname, beat, client, at):
    guest = GuestFactory(fishery=beat.fishery, name=f"Una {surname}", phone="+447700900123")
    made = AlarmFactory(outing=out(beat, late=HOUR, guest=guest))
    for path in ("", f"alarms/{made.pk}/"):
        assert f"Una {surname}" in text(client.get(at(path)))


def test_words_from_right_to_left_are_kept_and_turn_no_others_round(beat, client, at, alarm):
    path = at(f"alarms/{alarm.pk}/")
    assert client.post(path, {"minutes": "30", "note": BACKWARDS}).status_code == 303
    page = text(client.get(path))
    assert page.count(f"<bdi>{kept_apart(BACKWARDS)}</bdi>") == page.count("fo liat") == 2
    assert Acknowledgement.objects.get().note == BACKWARDS
    call(client, at, beat, words=BACKWARDS)
    assert Recall.objects.get().reason == BACKWARDS
    assert f"<p>{kept_apart(BACKWARDS)}</p>" in text(client.get(at("recall/")))


def test_a_refused_answer_keeps_words_from_right_to_left(client, at, alarm):
    answer = client.post(at(f"alarms/{alarm.pk}/"), {"minutes": "1", "note": BACKWARDS})
    assert (answer.status_code, BACKWARDS in text(answer)) == (422, True)
    assert not Acknowledgement.objects.exists()


# --- The hut's poster --------------------------------------------------------------------------


def test_the_poster_opens_the_check_in_and_says_what_999_asks(beat, client, at, settings):
    settings.PUBLIC_URL = "https://water.example.org"
    beat.meeting_point = "the boathouse"
    beat.save()
    PoolFactory(beat=beat, name="Croy", latitude=57.5, longitude=-4.5)
    page = text(client.get(at(f"poster/{beat.slug}/")))
    assert f"https://water.example.org/check-in/{beat.fishery.slug}/{beat.slug}/" in page
    assert "Meet them at: the boathouse." in page
    assert f"Croy: <strong>{grid_reference(57.5, -4.5)}</strong>" in page
    assert "In danger ring 999 or 112 and ask for the police." in page
    assert "Rodtally is not an emergency service." in page


def test_the_code_on_the_poster_is_the_check_in_address(beat, client, at):
    page = text(client.get(at(f"poster/{beat.slug}/")))
    drawn = base64.b64decode(re.search(r"data:image/png;base64,([^\"]+)", page)[1])
    assert drawn == picture(check_in_address(beat))
    assert drawn.startswith(b"\x89PNG")


def test_the_poster_is_for_keepers_of_this_water(beat, client, at):
    assert client.get(at(f"poster/{BeatFactory().slug}/")).status_code == 404
    client.force_login(guest_with_account(beat.fishery).user)
    assert client.get(at(f"poster/{beat.slug}/")).status_code == 403
