"""One rate for a season: the page, the statistics, the season report and the return agree."""

import datetime as dt
import io

import pytest
from django.urls import reverse
from pypdf import PdfReader

from tests.factories import (
    BeatFactory,
    CatchFactory,
    EffortDecisionFactory,
    GuestFactory,
    LetFactory,
    OutingFactory,
    RodDayFactory,
    client_of,
)

pytestmark = pytest.mark.django_db
MAY = dt.datetime(2025, 5, 7, 11, tzinfo=dt.UTC)
WATER = "/api/v1/fisheries/upper-water/"


@pytest.fixture
def beat():
    return BeatFactory(fishery__slug="upper-water", rods=20)


@pytest.fixture
def client(owner):
    return client_of(owner)


def let(beat, rods, *, guest=None):
    made = LetFactory(beat=beat, first_on=MAY.date(), last_on=MAY.date(), **({"booker": guest} if guest else {}))
    for rod in range(1, rods + 1):
        RodDayFactory(let=made, day=MAY.date(), rod=rod, guest=None)
    return made


def rates(client, house):
    """(fish, rod-days, rate) as each place has them."""
    stated = client.get(f"{WATER}statistics/2025/").json()["overall"]
    page = house.get(reverse("house-season", args=["upper-water", 2025])).content.decode()
    pdf = PdfReader(io.BytesIO(client.get(f"{WATER}season-report/2025/").content)).pages[2].extract_text()
    body = client.get(f"{WATER}returns/2025/").json()
    return stated, page, " ".join(pdf.split()), body["rod_days"]


def test_the_owner_s_rod_days_are_in_every_rate(client, house, beat):
    let(beat, 8)
    CatchFactory.create_batch(6, beat=beat, caught_at=MAY)
    EffortDecisionFactory(fishery=beat.fishery, season=2025, month=5, rod_days=12)
    stated, page, pdf, rod_days = rates(client, house)
    assert (stated["fish"], stated["rod_days"], stated["rate"]) == (6, 12, 0.5)
    assert "0.500 (chance alone:" in page
    assert "Salmon and grilse 6 12 0.500 " in pdf
    assert rod_days == 12


def test_days_for_sea_trout_alone_are_in_no_rate_of_salmon(client, house, beat):
    guest = GuestFactory(fishery=beat.fishery)
    let(beat, 4, guest=guest)
    OutingFactory(
        beat=beat, guest=guest, sea_trout_only=True, checked_in_at=MAY, due_back_at=MAY + dt.timedelta(hours=3)
    )
    CatchFactory.create_batch(3, beat=beat, caught_at=MAY)
    stated, page, pdf, rod_days = rates(client, house)
    assert (stated["rod_days"], stated["rate"], rod_days) == (3, 1.0, 3)
    assert "1.000 (chance alone:" in page
    assert "Salmon and grilse 3 3 1.000 " in pdf


def test_where_rod_days_are_not_known_there_is_no_rate(client, house, beat):
    let(beat, 4)
    CatchFactory.create_batch(3, beat=beat, caught_at=MAY)
    CatchFactory(beat=beat, caught_at=MAY.replace(month=6))
    stated, page, pdf, _rod_days = rates(client, house)
    assert (stated["fish"], stated["rate"]) == (4, None)
    assert "June" in stated["note"]
    assert "(chance alone: 0." not in page.split("Put back")[0]
    assert "Salmon and grilse 4 - - " in pdf


def test_sea_trout_have_no_rate_on_rod_days_for_salmon(client, beat):
    let(beat, 4)
    CatchFactory(beat=beat, caught_at=MAY, kind="sea_trout")
    stated = client.get(f"{WATER}statistics/2025/?species=sea_trout").json()["overall"]
    assert (stated["fish"], stated["rod_days"], stated["rate"]) == (1, None, None)
