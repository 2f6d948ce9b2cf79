"""A turn that the day forbids says so wherever it is shown, and by the rule that GET conditions/ answers with."""

import datetime as dt
import io

import pytest
from django.urls import reverse
from pypdf import PdfReader

from beats.models import FisheryRule, Membership, Pool, Reading
from safety.services.calling import call_in
from safety.services.pulse import beat_pulse
from sessions.models import Rota
from sessions.services.rotas import publish_rota
from tests.factories import (
    NOON,
    BeatClosureFactory,
    BeatFactory,
    DayPartFactory,
    GaugeFactory,
    GuestFactory,
    LetFactory,
    PoolFactory,
    ReadingFactory,
    RodDayFactory,
    TideWaterFactory,
    UserFactory,
    client_of,
    keeper,
)
from tests.pages import text

pytestmark = pytest.mark.django_db
TODAY = NOON.date()
MONDAY = dt.date(2026, 5, 4)
DAYS = [MONDAY + dt.timedelta(days=n) for n in range(6)]
MINUTE = dt.timedelta(minutes=1)
PHONE = "+441632960100"


@pytest.fixture(autouse=True)
def _at_noon(monkeypatch):
    monkeypatch.setattr("django.utils.timezone.now", lambda: NOON)


class Beat:
    """Four pools, three guests of different grades with a rod all week, and a gauge read five minutes ago."""

    def __init__(self, *, level_m=0.4, grades=(1, 1, 1), **pool):
        pool = {
            "wading_grade": 1,
            "reference_level_m": 0.4,
            "wading_depth_m": 0.3,
            "wading_velocity_mps": 0.3,
        } | pool
        self.beat = BeatFactory(rods=3, name="Upper", boats=0, ghillies=0, rise_m_per_h=0.3)
        self.fishery = self.beat.fishery
        self.fishery.phone = PHONE
        self.fishery.save()
        self.gauge = GaugeFactory(fishery=self.fishery)
        self.beat.gauge = self.gauge
        self.beat.save()
        for slug, start in (("morning", 9), ("afternoon", 14)):
            DayPartFactory(
                fishery=self.fishery, slug=slug, name=slug, starts=dt.time(start), ends=dt.time(start + 4)
            )
        self.pools = [
            PoolFactory(beat=self.beat, slug=f"p{n}", name=f"Pool {'ABCD'[n]}", order=n, worth=10 + n, **pool)
            for n in range(4)
        ]
        self.ghillie = keeper(self.fishery, "ghillie")
        self.owner = keeper(self.fishery, "owner")
        let = LetFactory(beat=self.beat, rods=3)
        self.guests = []
        for number, grade in enumerate(grades, start=1):
            user = UserFactory()
            Membership.objects.create(user=user, fishery=self.fishery, role="guest")
            guest = GuestFactory(fishery=self.fishery, user=user, name=f"Guest {number}", wading_grade=grade)
            self.guests.append(guest)
            for day in DAYS:
                RodDayFactory(let=let, day=day, rod=number, guest=guest)
        self.read(level_m)
        beat_pulse("sweep", now=NOON)
        self.client = client_of(self.ghillie)

    def read(self, level_m, *, before=None):
        """The gauge stood at `level_m` for two hours until five minutes ago (or rose to it from `before`)."""
        Reading.objects.filter(gauge=self.gauge).delete()
        for n in range(9):
            low = before is not None and n > 0
            ReadingFactory(gauge=self.gauge, at=NOON - (5 + 15 * n) * MINUTE, level_m=before if low else level_m)

    def plan(self, **asked):
        made = self.client.post(
            "/api/v1/rotas/", {"beat": self.beat.pk, "first_on": "2026-05-04", **asked}, format="json"
        )
        assert made.status_code == 201, made.json()
        return made.json()

    def publish(self):
        rota = Rota.objects.get(pk=self.plan()["id"])
        return publish_rota(rota, by=self.ghillie, now=NOON)

    def turns(self, day=TODAY, user=None, **asked):
        client = client_of(user) if user else self.client
        asked = {"day": str(day), "rota__status": "published", "page_size": 200} | asked
        return client.get("/api/v1/turns/", asked).json()["results"]

    def close(self, *pools, day=TODAY, reason="spate"):
        for pool in pools:
            facts = {"from_on": str(day), "to_on": str(day), "reason": reason}
            assert self.client.post(f"/api/v1/pools/{pool.pk}/closures/", facts, format="json").status_code == 201

    def conditions(self, *, grade, alone=True, day=TODAY):
        asked = {"wading_grade": grade, "alone": alone, "day": str(day)}
        return self.client.get(f"/api/v1/beats/{self.beat.pk}/conditions/", asked).json()

    def forbid_after_planning(self):
        """Published on a low river, which then rises out of everybody's depth."""
        rota = self.publish()
        self.read(2.0)
        return rota


@pytest.fixture
def river():
    return Beat()


def guest_page(client, guest):
    client.force_login(guest.user)
    return text(client.get(reverse("day")))


def flagged(turns):
    return [turn for turn in turns if turn["conditions"] and turn["conditions"]["do_not_fish"]]


# --- A closed pool is nobody's next pool -----------------------------------------------------------


@pytest.fixture
def closed(river):
    """Three of four pools closed for today, so that no rota fits three rods and the replan is refused."""
    rota = river.publish()
    river.close(*river.pools[:3])
    refused = river.client.post(f"/api/v1/rotas/{rota.pk}/replan/", {}, format="json")
    assert (refused.status_code, refused.json()["title"]) == (409, "No rota fits")
    return rota


def test_a_turn_on_a_closed_pool_says_so_though_the_replan_was_refused(river, closed):
    for turn in river.turns():
        shut = turn["pool_name"] != "Pool D"
        over = turn["part"] == "morning" and NOON.hour + 1 >= 13
        assert turn["conditions"]["do_not_fish"] is (shut and not over), turn
        if shut:
            assert turn["conditions"]["reasons"][0] == f"{turn['pool_name']} is closed: spate."
            assert turn["conditions"]["what_to_do"] == "Ask the ghillie where to fish instead: +44 1632 960100."


def test_a_closed_pool_is_not_the_guests_next_pool(river, closed, client):
    for guest in river.guests:
        mine = river.turns(user=guest.user)
        page = guest_page(client, guest)
        first = mine[0]
        if first["pool_name"] == "Pool D":
            continue
        assert "You fish next" not in page
        start = page.index(f"Do not fish {first['pool_name']} now")
        assert start < page.index("Check in: Upper")
        assert f"{first['pool_name']} is closed: spate." in page
        assert "Ask the ghillie where to fish instead" in page
        assert f'href="tel:{PHONE}"' in page[start : page.index("Check in: Upper")]


def test_the_ghillie_sees_which_rods_have_no_pool_and_what_to_do(river, closed, client):
    client.force_login(river.ghillie)
    page = text(client.get(f"/at/{river.fishery.slug}/rota/"))
    board = river.client.get(f"/api/v1/fisheries/{river.fishery.slug}/board/").json()
    tally = text(client.get(f"/at/{river.fishery.slug}/"))
    found = flagged(river.turns())
    assert found
    for turn in found:
        line = f"Rod {turn['rod']}, {turn['guest_name']}, {turn['part']}: do not fish {turn['pool_name']}."
        for shown in (page, tally, " ".join(board["turns"])):
            assert line in shown
    assert "Ring them" in page
    assert 'href="tel:+447700900111"' in page
    assert page.index("Do not send these rods") < page.index("By pool")


def test_rivers_up_names_the_rods_left_without_a_pool(river, client):
    river.publish()
    client.force_login(river.ghillie)
    facts = {"pools": [pool.pk for pool in river.pools[:3]], "until": "today", "reason": "up", "key": "k" * 36}
    answer = client.post(f"/at/{river.fishery.slug}/river-up/", facts)
    page = text(answer)
    assert answer.status_code == 422
    found = flagged(river.turns())
    assert found
    for turn in found:
        assert f"Rod {turn['rod']}, {turn['guest_name']}, {turn['part']}: do not fish {turn['pool_name']}." in page


@pytest.mark.parametrize("kind", ["html", "pdf", "csv"])
def test_the_sheet_says_closed(river, closed, kind):
    answer = river.client.get(f"/api/v1/rotas/{closed.pk}/sheet/?format={kind}")
    if kind == "pdf":
        pages = PdfReader(io.BytesIO(answer.content)).pages
        assert len(pages) == 1
        sheet = " ".join(pages[0].extract_text().split())
    else:
        sheet = " ".join(answer.content.decode().split())
    turn = flagged(river.turns())[0]
    assert f"{turn['pool_name']} is closed: spate." in sheet
    if kind != "csv":
        assert ("DO NOT" if kind == "pdf" else f"{turn['pool_name']}: DO NOT FISH") in sheet  # wrapped on paper
        assert sheet.index("Do not fish") < sheet.index("Guest 1 (rod")


def test_the_calendars_say_closed(river, closed, client):
    guest = river.guests[flagged(river.turns())[0]["rod"] - 1]
    pool = flagged(river.turns(user=guest.user))[0]["pool_name"]
    of_rota = client_of(guest.user).get(f"/api/v1/rotas/{closed.pk}/calendar/").content.decode()
    made = client_of(guest.user).post("/api/v1/feeds/", {"label": "phone", "guest": guest.pk}, format="json")
    assert made.status_code == 201, made.json()
    feed = client.get(made.json()["address"][made.json()["address"].index("/api/") :]).content.decode()
    for calendar in (of_rota, feed):
        unfolded = calendar.replace("\r\n ", "")
        assert f"SUMMARY:Do not fish: {pool}\\, Upper" in unfolded
        assert f"{pool} is closed: spate." in unfolded


def test_the_explanation_says_closed_first(river, closed):
    turn = flagged(river.turns())[0]
    told = river.client.get(f"/api/v1/turns/{turn['id']}/why/").json()
    assert told["facts"][0] == f"{turn['pool_name']} is closed: spate."
    assert told["conditions"]["do_not_fish"] is True


# --- What the conditions say, the rota does --------------------------------------------------------


def allowed_by(conditions, turn):
    """The plain reading of GET conditions/ for one pool: whether nothing in it forbids fishing there now."""
    pool = next(pool for pool in conditions["pools"] if pool["id"] == turn["pool"])
    too_fast = conditions["level"]["rise_m_per_h"] is not None and (
        conditions["level"]["rise_m_per_h"] >= conditions["level"]["rise_limit_m_per_h"]
    )
    return not (
        pool["closed"]
        or pool["window"]["standing"] in ("above", "below")
        or (pool["wading"]["grade"] == "stay out" and pool["wading_grade"] > 0 and not pool["boat"])
        or conditions["law"]["status"] == "closed"
        or conditions["level"]["trust"] == "distrusted"
        or conditions["level"]["rising"]
        or conditions["level"]["unconfirmed"] == "rise_step"
        or too_fast
    )


LEVELS = [0.1, 0.4, 0.6, 0.8, 1.0, 1.2, 1.4, 1.6, 2.0]


@pytest.mark.parametrize(
    "pool", [{}, {"wading_grade": 0}, {"wading_grade": 3, "level_max_m": 1.3}, {"boat": True}]
)
@pytest.mark.parametrize("before", [None, 0.1])
def test_a_turn_is_flagged_exactly_where_the_conditions_forbid_it(pool, before):
    """Nine levels, four kinds of pool, three grades of angler, steady and after a rise: the two never part."""
    river = Beat(grades=(1, 2, 3), **pool)
    part = river.fishery.parts.get(slug="afternoon")
    rota = Rota.objects.create(
        beat=river.beat, first_on=MONDAY, version=1, status="published", certificate={}, made_at=NOON
    )
    for number, guest in enumerate(river.guests, start=1):
        rota.turns.create(day=TODAY, part=part, rod=number, guest=guest, pool=river.pools[number])
    seen = set()
    for level_m in LEVELS:
        river.read(level_m, before=before)
        for turn in river.turns():
            grade = turn["rod"]
            conditions = river.conditions(grade=grade)
            shown = next(pool for pool in conditions["pools"] if pool["id"] == turn["pool"])
            assert turn["conditions"]["wading"] == shown["wading"]["grade"]
            assert turn["conditions"]["level_age_minutes"] == 5
            assert turn["conditions"]["do_not_fish"] is not allowed_by(conditions, turn), (
                level_m,
                turn,
                shown["wading"],
            )
            assert bool(turn["conditions"]["reasons"]) is turn["conditions"]["do_not_fish"]
            seen.add(turn["conditions"]["do_not_fish"])
    assert True in seen or pool in ({"wading_grade": 0}, {"boat": True})


def test_a_grade_too_strict_for_one_angler_leaves_the_other_on_the_pool():
    """At one level the pool is beyond a guest who wades to the knee, and not beyond one who wades deep."""
    river = Beat(grades=(1, 3, 3), wading_grade=3, wading_depth_m=0.4, wading_velocity_mps=0.5)
    found = {}
    for level_m in (0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0):
        river.read(level_m)
        found[level_m] = [
            river.conditions(grade=grade)["pools"][0]["wading"]["grade"] == "stay out" for grade in (1, 3)
        ]
    assert [True, False] in found.values(), found


def test_the_planner_keeps_rods_off_pools_they_must_not_fish_today():
    """Two pools are out of everybody's depth today, two are not: nobody is sent to the first two today."""
    river = Beat(grades=(2, 2, 2))
    Pool.objects.filter(pk__in=[river.pools[2].pk, river.pools[3].pk]).update(wading_grade=0, rods_at_once=2)
    river.read(2.0)
    made = river.plan()
    sent = [turn for turn in made["turns"] if turn["day"] == str(TODAY) and turn["part"] == "afternoon"]
    assert {turn["pool_name"] for turn in sent} <= {"Pool C", "Pool D"}
    assert not flagged(sent)
    used = {turn["pool_name"] for turn in made["turns"] if turn["day"] == str(DAYS[4])}
    assert used & {"Pool A", "Pool B"}, "tomorrow's river is not known, so its pools are not left out"
    assert any("must not fish today: Pool A, Pool B." in note for note in made["certificate"]["notes"])
    assert {goal["proven"] for goal in made["certificate"]["goals"]} <= {True, False}


def test_where_no_rota_keeps_off_the_turns_are_flagged_in_the_answer():
    river = Beat(level_m=2.0)
    made = river.plan()
    today = [turn for turn in made["turns"] if turn["day"] == str(TODAY)]
    assert len(flagged(today)) == len(today) == 6
    assert sum(note.startswith("No other rota fits") for note in made["certificate"]["notes"]) == 6
    for turn in today:
        assert f"Stay out of the water at {turn['pool_name']}." in turn["conditions"]["reasons"][0]
        assert "Bridge: 2.00 m, read 5 min ago." in turn["conditions"]["reasons"][0]


def test_a_replan_moves_rods_off_a_pool_that_is_out_of_their_depth():
    river = Beat()
    Pool.objects.filter(pk__in=[pool.pk for pool in river.pools[1:]]).update(wading_grade=0)
    rota = river.publish()
    river.read(2.0)
    assert {turn["pool_name"] for turn in flagged(river.turns())} == {"Pool A"}
    draft = river.client.post(f"/api/v1/rotas/{rota.pk}/replan/", {}, format="json").json()
    today = [turn for turn in draft["turns"] if turn["day"] == str(TODAY)]
    if not flagged(today):
        assert any("Stay out of the water at Pool A." in move["why"] for move in draft["certificate"]["moves"])
    else:  # three pools for three rods who may not stay on one for two parts: said so
        assert any(note.startswith("No other rota fits") for note in draft["certificate"]["notes"])


def test_no_hand_sends_a_rod_to_a_pool_that_is_out_of_its_depth():
    """Neither a pin nor a swap. What is wrong with the gauge is corrected on the level page, not here."""
    river = Beat(grades=(1, 1, 1))
    Pool.objects.filter(pk__in=[pool.pk for pool in river.pools[1:]]).update(wading_grade=0)
    river.read(2.0)
    rota = publish_rota(Rota.objects.get(pk=river.plan()["id"]), by=river.ghillie, now=NOON)
    turn = rota.turns.filter(day=TODAY, part__slug="afternoon").exclude(pool=river.pools[0]).first()
    pin = {"pins": [{"turn": turn.pk, "pool": river.pools[0].pk}]}
    refused = river.client.post(f"/api/v1/rotas/{rota.pk}/replan/", pin, format="json")
    assert refused.status_code == 409
    assert "must not fish Pool A today" in refused.json()["detail"]
    assert Rota.objects.filter(status="draft").count() == 0


def test_a_wish_of_the_rota_before_does_not_keep_a_rod_on_a_forbidden_pool():
    """Sent to Pool A by hand on a low river; the river rises, and the next replan no longer keeps that pin."""
    river = Beat()
    Pool.objects.filter(pk__in=[pool.pk for pool in river.pools[1:]]).update(wading_grade=0, rods_at_once=2)
    rota = river.publish()
    turn = rota.turns.filter(day=TODAY, part__slug="afternoon").exclude(pool=river.pools[0]).first()
    pin = {"pins": [{"turn": turn.pk, "pool": river.pools[0].pk}]}
    draft = river.client.post(f"/api/v1/rotas/{rota.pk}/replan/", pin, format="json").json()
    sent = {
        turn["rod"]: turn["pool_name"]
        for turn in draft["turns"]
        if turn["day"] == str(TODAY) and turn["part"] == "afternoon"
    }
    assert sent[turn.rod] == "Pool A"
    river.read(2.0)
    after = river.client.post(f"/api/v1/rotas/{draft['id']}/replan/", {}, format="json").json()
    assert not flagged(after["turns"])
    assert not [turn for turn in after["turns"] if turn["day"] == str(TODAY) and turn["pool_name"] == "Pool A"]


def test_an_unknown_level_is_shown_as_not_known_and_never_as_calm(river, client):
    river.publish()
    Reading.objects.filter(gauge=river.gauge).delete()
    assert {turn["conditions"]["wading"] for turn in river.turns()} == {"not known"}
    client.force_login(river.ghillie)
    assert "Look at the river before you send a rod" in text(client.get(f"/at/{river.fishery.slug}/rota/"))


def test_a_gauge_that_jumped_keeps_everybody_off(river):
    river.publish()
    river.gauge.jump_m = 0.5
    river.gauge.save()
    river.read(3.0, before=0.4)
    Reading.objects.filter(level_m=3.0).update(trusted=False)
    turns = river.turns()
    assert len(flagged(turns)) == len(turns)


# --- The same fault by other ways --------------------------------------------------------------------


def test_a_pool_retired_since_is_nobodys_pool(river, client):
    river.publish()
    Pool.objects.filter(beat=river.beat).update(retired=True)
    for day in (TODAY, DAYS[4]):
        for turn in river.turns(day):
            assert turn["conditions"]["reasons"][0] == f"{turn['pool_name']} is retired and no longer fished."
    assert "Do not fish Pool" in guest_page(client, river.guests[0])


def test_a_closed_beat_is_said_first(river, client):
    river.publish()
    BeatClosureFactory(beat=river.beat, from_on=TODAY, to_on=DAYS[3], reason="The bridge is out.")
    river.close(*river.pools)
    for turn in river.turns() + river.turns(DAYS[3]):
        assert "Upper is closed: The bridge is out." in turn["conditions"]["reasons"]
    assert river.turns(DAYS[4])[0]["conditions"] is None
    page = guest_page(client, river.guests[0])
    assert "Upper is closed: The bridge is out." in page
    assert "You fish next" not in page


def test_whoever_is_on_the_water_when_their_pool_closes_is_told_and_shown(river, client):
    guest, pool = river.guests[0], river.pools[3]
    due = (NOON + dt.timedelta(hours=2)).isoformat()
    facts = {"guest": guest.pk, "beat": river.beat.pk, "pool": pool.pk, "due_back_at": due, "alone": False}
    assert client_of(guest.user).post("/api/v1/outings/", facts, format="json").status_code == 201
    assert "Do not fish" not in guest_page(client, guest)
    river.close(pool)
    assert "Do not fish Pool D. Pool D is closed: spate." in guest_page(client, guest)
    board = river.client.get(f"/api/v1/fisheries/{river.fishery.slug}/board/").json()
    assert board["turns"] == ["Guest 1 is on the water at Pool D: do not fish it. Pool D is closed: spate."]


def test_a_refused_replan_names_the_rods_left_without_a_pool(river, closed):
    refused = river.client.post(f"/api/v1/rotas/{closed.pk}/replan/", {}, format="json").json()["detail"]
    for turn in flagged(river.turns()):
        assert (
            f"Rod {turn['rod']}, {turn['guest_name']}, {turn['part']}: do not fish {turn['pool_name']}." in refused
        )
    assert "Ring these rods" in refused


def test_a_law_that_closes_the_day_afterwards_is_said(river, client):
    river.publish()
    FisheryRule.objects.create(
        fishery=river.fishery, status="closed", start="05-06", end="05-08", reason="Too few fish."
    )
    for day in (TODAY, DAYS[4]):
        turns = river.turns(day)
        assert len(flagged(turns)) == len(turns) > 0
    assert river.turns(DAYS[5])[0]["conditions"] is None
    assert "You fish next" not in guest_page(client, river.guests[0])


def test_a_recall_in_force_is_said_to_those_not_yet_on_the_water(river, client):
    river.publish()
    call_in(
        river.beat,
        reason="thunder over the hill.",
        pools=[river.pools[0].pk],
        cause="hand",
        by=river.ghillie,
        now=NOON,
    )
    for turn in river.turns():
        meant = turn["pool"] == river.pools[0].pk
        assert turn["conditions"]["do_not_fish"] is meant
        if meant:
            assert turn["conditions"]["reasons"] == ["Called off the water: thunder over the hill."]


def test_a_pool_the_tide_cuts_off_is_flagged_in_that_part_alone(river):
    """The table came after the rota: high water at 16:00 stands above the mark in the afternoon alone."""
    river.publish()
    river.beat.tidal = True
    river.beat.save()
    Pool.objects.filter(beat=river.beat).update(cut_off_above_m=3.0)
    for n in range(-5, 6):
        height, kind = (4.0, "high") if n % 2 == 0 else (0.5, "low")
        TideWaterFactory(beat=river.beat, at=NOON + dt.timedelta(hours=4 + 6.2 * n), height_m=height, kind=kind)
    turns = river.turns()
    assert {turn["part"] for turn in flagged(turns)} == {"afternoon"}
    assert len(flagged(turns)) == 3
    assert "The tide cuts Pool" in flagged(turns)[0]["conditions"]["reasons"][0]
    TideWaterFactory._meta.model.objects.all().delete()
    assert len(flagged(river.turns())) == 6, "without a table those hours count as cut off"


def test_a_turn_that_begins_in_the_dark_is_flagged(river):
    """Dusk at this place on 6 May is long after 18:00, so the part is put there."""
    river.publish()
    river.fishery.parts.filter(slug="afternoon").update(starts=dt.time(22, 45), ends=dt.time(23, 45))
    dark = [turn for turn in river.turns() if turn["part"] == "afternoon"]
    assert len(flagged(dark)) == 3
    assert "it is dark soon after" in dark[0]["conditions"]["reasons"][0]


def test_turns_that_are_over_say_nothing(river, monkeypatch):
    river.publish()
    river.close(*river.pools, day=MONDAY)
    assert {turn["conditions"] for turn in river.turns(MONDAY)} == {None}
    later = NOON + dt.timedelta(hours=2)
    monkeypatch.setattr("django.utils.timezone.now", lambda: later)
    river.close(*river.pools)
    assert {turn["part"] for turn in flagged(river.turns())} == {"afternoon"}


def test_a_guest_learns_nothing_of_others(river, closed):
    for guest in river.guests:
        assert {turn["guest"] for turn in river.turns(user=guest.user)} == {guest.pk}


def test_a_shared_rod_goes_by_the_easier_of_the_two():
    river = Beat(grades=(3, 3, 3), wading_grade=3, wading_depth_m=0.4, wading_velocity_mps=0.5)
    rota = river.publish()
    novice = GuestFactory(fishery=river.fishery, wading_grade=1)
    for level_m in (0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0):
        river.read(level_m)
        if (
            river.conditions(grade=1)["pools"][0]["wading"]["grade"]
            != river.conditions(grade=3)["pools"][0]["wading"]["grade"]
        ):
            break
    rota.turns.filter(rod=1).update(sharer=novice)
    graded = {turn["rod"]: turn["conditions"]["wading"] for turn in river.turns()}
    assert graded[1] != graded[2] == graded[3]


def test_the_check_in_does_not_propose_a_forbidden_pool(river, client):
    river.forbid_after_planning()
    client.force_login(river.guests[0].user)
    page = text(client.get(reverse("check-in", args=[river.fishery.slug, river.beat.slug])))
    assert 'id="id_pool_4" checked' in page, "not a pool of the beat, but the beat"
    assert "stay out of the water today" in page


def test_whoever_checks_in_at_a_closed_pool_is_told(river, closed):
    guest = river.guests[0]
    due = (NOON + dt.timedelta(hours=2)).isoformat()
    facts = {
        "guest": guest.pk,
        "beat": river.beat.pk,
        "pool": river.pools[0].pk,
        "due_back_at": due,
        "alone": False,
    }
    made = client_of(guest.user).post("/api/v1/outings/", facts, format="json")
    assert made.status_code == 201, made.json()
    assert "Do not fish Pool A. Pool A is closed: spate." in " ".join(made.json()["told"])
