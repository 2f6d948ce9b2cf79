"""The ghillie's rota on a telephone: read, planned, swapped, and mended when the river is up."""

import datetime as dt

import pytest

from beats.models import PoolClosure
from sessions.models import Catch, Rota, Turn
from sessions.services.rotas import publish_rota
from tests.factories import (
    NOON,
    BeatFactory,
    CatchFactory,
    GuestFactory,
    PoolFactory,
)
from tests.pages import text
from tests.sessions.riverside import DAYS, MONDAY, Riverside, lines

pytestmark = pytest.mark.django_db
TODAY = DAYS[2]
"""NOON is on the Wednesday of the week, with the morning under way."""
KEY = "7f1f3a52-50d1-4c0e-a0f3-6c8e2b7a9d10"


@pytest.fixture(autouse=True)
def _at_noon(monkeypatch):
    monkeypatch.setattr("django.utils.timezone.now", lambda: NOON)


@pytest.fixture
def river():
    return Riverside()


@pytest.fixture
def rota(river):
    return publish_rota(river.plan(), by=river.ghillie, now=NOON)


@pytest.fixture
def at(river, client):
    """The address of a page of the water; the client is the ghillie's."""
    client.force_login(river.ghillie)
    return lambda path="rota/": f"/at/{river.beat.fishery.slug}/{path}"


def side_by_side(rota, day=TODAY, part="afternoon"):
    """Two turns of one part that may change places: all three guests wade anywhere."""
    return list(rota.turns.filter(day=day, part__slug=part).order_by("rod"))[:2]


def test_today_is_told_by_pool_and_by_rod(rota, client, at, django_assert_num_queries):
    client.get(at())
    with django_assert_num_queries(15):  # 7, and 8 for what is known of the turns
        page = text(client.get(at()))
    for turn in rota.turns.filter(day=TODAY).select_related("guest", "pool"):
        assert f"{turn.rod} · {turn.guest.name}" in page
        assert turn.pool.name in page
    assert "Wednesday 6 May" in page


def test_the_sheet_is_a_page_to_print(rota, client, at):
    page = text(client.get(at(f"rota/{rota.pk}/sheet/")))
    assert "@page" in page
    assert "Upper" in page


def test_a_week_is_planned_once_however_often_it_is_tapped_and_published(river, client, at):
    facts = {"beat": river.beat.pk, "week": "0", "key": KEY}
    onward = {client.post(at("rota/plan/"), facts)["Location"] for _ in range(2)}
    draft = Rota.objects.get()
    assert (draft.status, draft.first_on) == ("draft", MONDAY)
    assert onward == {at(f"rota/{draft.pk}/")}
    assert "A draft is waiting" in text(client.get(at()))
    assert client.post(at(f"rota/{draft.pk}/")).status_code == 303
    draft.refresh_from_db()
    assert draft.status == "published"


def test_a_week_nobody_has_let_is_refused_in_words(river, client, at):
    answer = client.post(at("rota/plan/"), {"beat": river.beat.pk, "week": "1", "key": KEY})
    assert answer.status_code == 422
    assert "Nothing is let on Upper" in text(answer)
    assert not Rota.objects.exists()


def test_a_draft_that_was_replaced_is_not_published(river, rota, client, at):
    newer = publish_rota(river.plan(), by=river.ghillie, now=NOON)
    answer = client.post(at(f"rota/{rota.pk}/"))
    assert answer.status_code == 422
    assert "A newer rota has replaced this one" in text(answer)
    newer.refresh_from_db()
    assert newer.status == "published"


# --- Swapping ----------------------------------------------------------------------------------


def test_a_swap_shows_its_effect_before_it_is_made_and_only_a_post_makes_it(rota, client, at):
    one, other = side_by_side(rota)
    shown = client.get(
        at(f"rota/{rota.pk}/swap/"), {"picked": "yes", "day": str(TODAY), "turn": [one.pk, other.pk]}
    )
    page = text(shown)
    assert shown.status_code == 200, page
    assert "2 turns move" in page
    assert "worth of the worst-off rod" in page
    assert Rota.objects.count() == 1
    for _ in range(2):
        made = client.post(at(f"rota/{rota.pk}/swap/"), {"turn": one.pk, "other": other.pk, "key": KEY})
        assert made.status_code == 303
    draft = Rota.objects.get(status="draft")
    assert made["Location"] == at(f"rota/{draft.pk}/")
    assert lines(draft) - lines(rota) == {
        (TODAY, "afternoon", one.rod, other.pool.slug),
        (TODAY, "afternoon", other.rod, one.pool.slug),
    }


def test_a_swap_of_one_rod_or_of_two_parts_is_refused_and_stays_picked(rota, client, at):
    one, other = rota.turns.get(day=TODAY, part__slug="morning", rod=1), side_by_side(rota)[1]
    for turns, words in (([one.pk], "Tap two"), ([one.pk, other.pk], "Pick two turns side by side")):
        answer = client.get(at(f"rota/{rota.pk}/swap/"), {"picked": "yes", "day": str(TODAY), "turn": turns})
        assert answer.status_code == 422
        assert words in text(answer)
        assert text(answer).count(" checked") == len(turns)


def test_what_has_been_fished_cannot_be_swapped(rota, client, at):
    one, other = side_by_side(rota, day=DAYS[0])
    answer = client.post(at(f"rota/{rota.pk}/swap/"), {"turn": one.pk, "other": other.pk, "key": KEY})
    assert answer.status_code == 422
    assert "has been fished already" in text(answer)
    assert Rota.objects.count() == 1


# --- The river is up ---------------------------------------------------------------------------


def test_two_taps_close_pools_and_publish_who_moves_where_and_why(river, rota, client, at):
    lost = Turn.objects.filter(rota=rota, day=TODAY).order_by("-part__starts", "rod").first().pool
    for _ in range(2):
        facts = {"pools": [lost.pk], "until": "today", "reason": "up", "words": "", "key": KEY}
        onward = client.post(at("river-up/"), facts)
        assert onward.status_code == 303
    closure = PoolClosure.objects.get()
    assert (closure.pool, closure.from_on, closure.to_on, closure.reason) == (
        lost,
        TODAY,
        TODAY,
        "the river is up",
    )
    draft = Rota.objects.get(status="draft")
    page = text(client.get(onward["Location"]))
    assert f"{lost.name} is closed: the river is up" in page
    assert client.post(onward["Location"]).status_code == 303
    draft.refresh_from_db()
    assert draft.status == "published"
    assert not draft.turns.filter(day=TODAY, part__slug="afternoon", pool=lost).exists()


def test_until_the_end_of_the_week_and_in_own_words(river, rota, client, at):
    pool = river.pools["croy"]
    facts = {"pools": [pool.pk], "until": "week", "reason": "up", "words": "the bank is gone", "key": KEY}
    client.post(at("river-up/"), facts)
    closure = PoolClosure.objects.get()
    assert (closure.to_on, closure.reason) == (MONDAY + dt.timedelta(days=6), "the bank is gone")


def test_pools_of_two_beats_are_refused_and_what_was_typed_stays(river, rota, client, at):
    stray = PoolFactory(beat=BeatFactory(fishery=river.beat.fishery))
    pools = [river.pools["croy"].pk, stray.pk]
    facts = {"pools": pools, "until": "today", "reason": "up", "words": "a flood is coming", "key": KEY}
    answer = client.post(at("river-up/"), facts)
    assert answer.status_code == 422
    assert "Choose pools of one beat" in text(answer)
    assert "a flood is coming" in text(answer)
    assert not PoolClosure.objects.exists()


def test_where_no_rota_can_be_found_the_pools_are_closed_all_the_same_and_it_says_so(river, rota, client, at):
    pools = [pool.pk for pool in river.pools.values()]
    answer = client.post(at("river-up/"), {"pools": pools, "until": "today", "reason": "up", "key": KEY})
    assert answer.status_code == 422
    assert "The pools are closed, and the rota still sends rods there." in text(answer)
    assert PoolClosure.objects.count() == len(pools)


def test_without_a_rota_the_pools_are_closed_and_that_is_all(river, client, at):
    facts = {"pools": [river.pools["croy"].pk], "until": "today", "reason": "debris", "key": KEY}
    answer = client.post(at("river-up/"), facts)
    assert (answer.status_code, answer["Location"]) == (303, at())
    assert PoolClosure.objects.get().reason == "trees are coming down"
    assert not Rota.objects.exists()


# --- A fish ------------------------------------------------------------------------------------


def fish_of(river, **facts):
    return {
        "guest": river.guests[0].pk, "where": f"pool {river.pools['croy'].pk}", "kind": "msw", "fate": "released",
        "weight": "4.5", "unit": "kg", "length": "", "length_unit": "cm",
        "fly": "a small black one", "day": str(TODAY), "time": "11:15",
        "key": KEY,
    } | facts  # fmt: skip


def test_a_fish_is_written_down_once_for_the_guest_who_caught_it(river, client, at):
    assert river.guests[0].name in text(client.get(at("fish/")))
    onward = {client.post(at("fish/"), fish_of(river))["Location"] for _ in range(2)}
    fish = Catch.objects.get()
    assert onward == {at(f"fish/?noted={fish.pk}")}
    assert (fish.guest, fish.pool, fish.beat) == (river.guests[0], river.pools["croy"], river.beat)
    assert (str(fish.weight_kg), fish.made_by) == ("4.50", river.ghillie)
    assert fish.caught_at == NOON - dt.timedelta(minutes=45)  # 11:15 at the river; NOON is 12:00 there
    assert "It is in the book" in text(client.get(at(f"fish/?noted={fish.pk}")))


@pytest.mark.parametrize("key", [KEY, "1764178800000-k3x9q"])
def test_pounds_and_inches_are_kept_as_kilograms_and_centimetres(key, river, client, at):
    """0.45359237 kg (Weights and Measures Act 1985, schedule 1) and 2.54 cm. Any key of a phone's will do."""
    facts = {"weight": "12.5", "unit": "lb", "length": "31", "length_unit": "in", "key": key}
    for _ in range(2):
        assert client.post(at("fish/"), fish_of(river, **facts)).status_code == 303
    fish = Catch.objects.get()
    assert (str(fish.weight_kg), str(fish.length_cm)) == ("5.67", "78.7")
    assert "5.67 kg, 78.7 cm" in text(client.get(at(f"fish/?noted={fish.pk}")))


@pytest.mark.parametrize("surname", ["Wolfeschlegelsteinha", "Featherstonehaugh-" * 5])
def test_a_long_name_and_a_fly_from_right_to_left_are_kept_whole(surname, river, client, at):
    guest, fly = river.guests[0], "\u05d6\u05d1\u05d5\u05d1 \u202eylf"
    guest.name = f"Una {surname}"
    guest.save()
    assert guest.name in text(client.get(at("fish/")))
    assert fly in text(client.post(at("fish/"), fish_of(river, fly=fly, weight="heavy")))
    onward = client.post(at("fish/"), fish_of(river, fly=fly))["Location"]
    assert Catch.objects.get().fly == fly
    assert f"<bdi>{guest.name}</bdi>" in text(client.get(onward))


def test_a_fish_told_without_a_unit_is_in_the_books_own(river, client, at):
    client.post(at("fish/"), fish_of(river, unit="", length="80", length_unit=""))
    assert (str(Catch.objects.get().weight_kg), str(Catch.objects.get().length_cm)) == ("4.50", "80.0")


def test_a_fish_is_kept_by_the_phone_until_the_lodge_has_it(client, at):
    assert 'data-keep="A fish"' in text(client.get(at("fish/")))


def test_where_the_pool_is_not_known_the_beat_is(river, client, at):
    client.post(at("fish/"), fish_of(river, where=f"beat {river.beat.pk}", guest=""))
    fish = Catch.objects.get()
    assert (fish.beat, fish.pool, fish.guest) == (river.beat, None, None)


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"time": "18:00"}, "dated in the future"),
        ({"weight": "40", "length": "50"}, "No fish of 50.0 cm weighs 40.00 kg"),
        ({"weight": "heavy"}, "Enter a number"),
        ({"weight": "140", "unit": "lb"}, "Check the figure and the unit"),
        ({"length": "90", "length_unit": "in"}, "Check the figure and the unit"),
    ],
)
def test_a_fish_that_cannot_be_is_refused_and_nothing_typed_is_lost(wrong, words, river, client, at):
    answer = client.post(at("fish/"), fish_of(river) | wrong)
    assert answer.status_code == 422
    assert words in text(answer)
    assert "a small black one" in text(answer)
    assert all(str(value) in text(answer) for value in wrong.values())
    assert not Catch.objects.exists()


def test_another_waters_guest_or_pool_cannot_be_chosen(river, client, at):
    for stray in ({"guest": GuestFactory().pk}, {"where": f"pool {PoolFactory().pk}"}):
        assert client.post(at("fish/"), fish_of(river) | stray).status_code == 422
    assert client.get(at(f"fish/?noted={CatchFactory().pk}")).status_code == 404
    assert Catch.objects.count() == 1
