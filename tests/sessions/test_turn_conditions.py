"""A turn that the day forbids says so wherever it is shown, and by the rule that GET conditions/ answers with."""

import datetime as dt
import io

import pytest
from django.urls import reverse
from pypdf import PdfReader

from beats.models import ConservationGrade, FisheryRule, Membership, Pool, Reading
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
    PoolClosureFactory,
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
        pool = {"wading_grade": 1, "reference_level_m": 0.4, "wading_depth_m": 0.3, "wading_velocity_mps": 0.3} | pool
        self.beat = BeatFactory(rods=3, name="Upper", boats=0, ghillies=0, rise_m_per_h=0.3)
        self.fishery = self.beat.fishery
        self.fishery.phone = PHONE
        self.fishery.save()
        self.gauge = GaugeFactory(fishery=self.fishery)
        self.beat.gauge = self.gauge
        self.beat.save()
        for slug, start in (("morning", 9), ("afternoon", 14)):
            DayPartFactory(fishery=self.fishery, slug=slug, name=slug, starts=dt.time(start), ends=dt.time(start + 4))
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
        made = self.client.post("/api/v1/rotas/", {"beat": self.beat.pk, "first_on": "2026-05-04", **asked}, format="json")
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
        mine = [t for t in river.turns(user=guest.user)]
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
        assert f"{turn['pool_name']}: DO NOT FISH" in sheet
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
