"""The wading verdict where people meet it: the API, the guest's own page and what check-in answers."""

import datetime as dt
import re

import pytest
from django.urls import reverse
from django.utils import timezone

from beats.models import Membership
from beats.water.limits import Grade
from sessions.telling import told_at_check_in
from tests.factories import (
    BeatFactory,
    GaugeFactory,
    GuestFactory,
    ObservationFactory,
    OutingFactory,
    PoolFactory,
    ReadingFactory,
    UserFactory,
    client_of,
)

pytestmark = pytest.mark.django_db
TOO_DEEP = "Stay on the bank: today it is 1.10 m deep where one stands"
QUARTER = dt.timedelta(minutes=15)


@pytest.fixture
def beat():
    """Slow clear water, warm and steady, 1.10 m deep where one stands, in a pool graded to the knee."""
    now = timezone.now()
    row = BeatFactory()
    row.gauge = GaugeFactory(fishery=row.fishery)
    row.save()
    PoolFactory(
        beat=row, wading_grade=1, reference_level_m=0.6, depth_m=1.5, velocity_mps=0.1, wading_depth_m=1.1,
        wading_velocity_mps=0.1,
    )  # fmt: skip
    for n in range(9):
        ReadingFactory(gauge=row.gauge, at=now - n * QUARTER, level_m=0.6)
    ObservationFactory(beat=row, at=now, clarity="clear", water_c=14.0)
    return row


@pytest.fixture
def guest(beat):
    user = UserFactory()
    Membership.objects.create(user=user, fishery=beat.fishery, role=Membership.Role.GUEST)
    return GuestFactory(fishery=beat.fishery, user=user, wading_grade=1)


@pytest.mark.parametrize("asked", ["?wading_grade=1", "?wading_grade=3", ""])
def test_the_conditions_hold_todays_depth_against_both_grades(beat, guest, asked):
    answer = client_of(guest.user).get(f"/api/v1/beats/{beat.pk}/conditions/{asked}").json()
    (pool,) = answer["pools"]
    assert (pool["wading"]["depth_m"], pool["wading"]["grade"]) == (1.1, Grade.STAY_OUT)
    first = pool["wading"]["cautions"][0]
    assert (first["value"], first["threshold"], first["unit"]) == (1.1, 0.35, "m")


def test_a_guest_of_an_easier_grade_than_the_pool_is_held_to_their_own(beat, guest):
    beat.pools.update(wading_grade=3, wading_depth_m=0.6)
    asked = [f"/api/v1/beats/{beat.pk}/conditions/?wading_grade={grade}" for grade in (1, 3)]
    found = [client_of(guest.user).get(url).json()["pools"][0]["wading"]["grade"] for url in asked]
    assert found == [Grade.STAY_OUT, Grade.USUAL_CARE]


def test_the_guests_page_and_the_answer_to_check_in_say_so(client, beat, guest):
    outing = OutingFactory(beat=beat, guest=guest, pool=beat.pools.get(), due_back_at=timezone.now() + 4 * QUARTER)
    assert any(TOO_DEEP in sentence for sentence in told_at_check_in(outing, now=timezone.now()))
    client.force_login(guest.user)
    page = client.get(reverse("day")).content.decode()
    assert TOO_DEEP in page
    assert "Wading: stay out of the water" in page


def test_the_picture_says_how_deep_it_is_where_one_stands(beat, guest):
    pool = beat.pools.get()
    picture = client_of(guest.user).get(f"/api/v1/pools/{pool.pk}/section/").content.decode()
    words = re.search(r"<desc[^>]*>(.*?)</desc>", picture, re.DOTALL)[1]
    assert "today it is 1.10 m deep where one stands" in words
