"""The owner's calendar shows a closed day as closed: it agrees with the law, the API and what a let is refused.

Close times: Conservation of Salmon (Annual Close Time and Catch and Release) (Scotland) Regulations 2014,
SSI 2014/327; no rod fishing for salmon on a Sunday: Salmon and Freshwater Fisheries (Consolidation) (Scotland)
Act 2003, section 13.
"""

import datetime as dt
import re

import pytest
from django.db import transaction
from django.utils import timezone

from beats.models import FisheryRule
from beats.queries import rulings
from beats.season import Status
from bookings.availability import days_between
from bookings.services.claims import DayClosed
from bookings.services.lets import let_rods
from tests.factories import BeatClosureFactory, GuestFactory, LetFactory, RodDayFactory, client_of
from tests.pages import at

pytestmark = pytest.mark.django_db

YEAR = 2026
DAYS = days_between(dt.date(YEAR, 1, 1), dt.date(YEAR, 12, 31))


@pytest.fixture
def closures(beat):
    BeatClosureFactory(beat=beat, from_on=dt.date(YEAR, 6, 1), to_on=dt.date(YEAR, 6, 5))
    FisheryRule.objects.create(
        fishery=beat.fishery, status="closed", start="07-10", end="07-12", reason="Fly only school."
    )


def calendar_of(house, beat):
    """What the page says of each day of the year, as {day: text}."""
    found = {}
    for month in range(1, 13):
        page = house.get(at("house-lets", beat), {"month": f"{YEAR}-{month:02}"}).content.decode()
        rows = re.findall(r'<tr><th scope="row">(.*?)</th><td>(.*?)</td></tr>', page, re.DOTALL)
        texts = [" ".join(re.sub("<[^>]+>", " ", cell).split()) for _, cell in rows]
        found |= {dt.date(YEAR, month, number): text for number, text in enumerate(texts, start=1)}
    return found


def closed_by_the_api(owner, beat):
    found = {}
    for first in (dt.date(YEAR, month, 1) for month in range(1, 13)):
        answer = owner.get(f"/api/v1/fisheries/{beat.fishery.slug}/month/", {"month": f"{first:%Y-%m}"}).json()
        found |= {dt.date.fromisoformat(day["day"]): day["standing"] == "closed" for day in answer[0]["days"]}
    return {day for day, closed in found.items() if closed}


def refused(beat, owner):
    """Days on which a let is refused because they are closed."""
    booker, found = GuestFactory(fishery=beat.fishery), set()
    for day in DAYS:
        try:
            with transaction.atomic():
                let_rods(beat, booker=booker, first_on=day, last_on=day, rods=1, by=owner, now=timezone.now())
                transaction.set_rollback(True)
        except DayClosed:
            found.add(day)
    return found


def test_a_closed_day_is_closed_in_the_calendar_the_api_and_a_let_alike(house, beat, owner, closures):
    shown = calendar_of(house, beat)
    assert list(shown) == DAYS
    closed = {day for day, text in shown.items() if "Closed:" in text}
    by_law = {each.day for each in rulings(beat.fishery, DAYS) if each.status is Status.CLOSED}
    assert by_law | {day for day in DAYS if dt.date(YEAR, 6, 1) <= day <= dt.date(YEAR, 6, 5)} == closed
    assert closed == closed_by_the_api(client_of(owner), beat) == refused(beat, owner)
    assert {day for day in DAYS if day.weekday() == 6} < closed  # section 13 of the Act of 2003
    assert dt.date(YEAR, 12, 25) in closed
    assert not any("not let" in shown[day] for day in closed)
    assert all("not let" in shown[day] for day in DAYS if day not in closed)


def test_an_opening_is_never_offered_on_a_closed_day(house, beat, owner, closures):
    closed = {day for day, text in calendar_of(house, beat).items() if "Closed:" in text}
    found = client_of(owner).get(
        f"/api/v1/fisheries/{beat.fishery.slug}/openings/",
        {"first_on": f"{YEAR}-01-01", "last_on": f"{YEAR}-12-31", "limit": "50"},
    )
    offered = {
        day
        for run in found.json()
        for day in days_between(dt.date.fromisoformat(run["first_on"]), dt.date.fromisoformat(run["last_on"]))
    }
    assert offered
    assert not offered & closed


def test_a_let_on_a_day_that_is_closed_since_is_still_shown(house, beat):
    sunday = dt.date(YEAR, 5, 3)
    RodDayFactory(let=LetFactory(beat=beat, first_on=sunday, last_on=sunday), day=sunday)
    text = calendar_of(house, beat)[sunday]
    assert "1 rod" in text
    assert "Closed:" in text


def test_a_hold_that_has_run_out_leaves_its_rods_to_be_let(house, beat):
    day = dt.date(YEAR, 5, 6)
    over = LetFactory(beat=beat, status="held", first_on=day, last_on=day, expires_at=timezone.now())
    RodDayFactory(let=over, day=day, rod=1)
    text = calendar_of(house, beat)[day]
    assert "hold expired" in text
    assert f"{beat.rods} rods not let" in text
