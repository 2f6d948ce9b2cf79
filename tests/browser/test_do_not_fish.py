"""A closed pool on a telephone of 360 pixels: the warning is read first, and nothing runs off the screen."""

import datetime as dt

import pytest
from django.urls import reverse
from django.utils import timezone

from beats.models import PoolClosure
from beats.queries import local_day
from safety.services.pulse import beat_pulse
from tests.browser.conftest import sign_in
from tests.browser.test_every_page import looked_at
from tests.factories import (
    BeatFactory,
    DayPartFactory,
    PoolFactory,
    RotaFactory,
    TurnFactory,
    guest_with_account,
    keeper,
)

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def turn():
    beat = BeatFactory(name="Upper")
    beat.fishery.phone = "+441632960100"
    beat.fishery.save()
    today = local_day(beat.fishery, timezone.now())
    pool = PoolFactory(beat=beat, name="Kiln Pot")
    part = DayPartFactory(fishery=beat.fishery, name="all day", starts=dt.time(0), ends=dt.time(23, 59, 59))
    guest = guest_with_account(beat.fishery, phone="+441632960110")
    rota = RotaFactory(beat=beat, first_on=today - dt.timedelta(days=today.weekday()), status="published")
    PoolClosure.objects.create(pool=pool, from_on=today, to_on=today, reason="spate")
    beat_pulse("sweep", now=timezone.now())
    return TurnFactory(rota=rota, day=today, part=part, rod=1, guest=guest, pool=pool)


def above_the_fold(page, words):
    box = page.get_by_text(words).first.bounding_box()
    assert box is not None
    assert box["y"] + box["height"] < page.viewport_size["height"], box


def test_the_guest_reads_the_closure_before_anything_else(screen, turn):
    sign_in(screen, turn.guest.email, path=reverse("day"))
    above_the_fold(screen, "Do not fish Kiln Pot now.")
    above_the_fold(screen, "Kiln Pot is closed: spate.")
    ring = screen.get_by_role("link", name="Ring the fishery")
    assert ring.get_attribute("href") == "tel:+441632960100"
    assert ring.bounding_box()["height"] >= 44
    assert screen.get_by_text("You fish next").count() == 0
    looked_at(screen, "guest-do-not-fish")


def test_the_ghillie_reads_whom_not_to_send_and_can_ring_them(screen, turn):
    ghillie = keeper(turn.rota.beat.fishery, "ghillie")
    sign_in(screen, ghillie.email, path=reverse("water-rota", args=[turn.rota.beat.fishery.slug]))
    above_the_fold(screen, "Do not send these rods.")
    line = f"Rod 1, {turn.guest.name}, all day: do not fish Kiln Pot. Kiln Pot is closed: spate."
    above_the_fold(screen, line)
    assert screen.get_by_role("link", name=f"Ring {turn.guest.name}").get_attribute("href") == "tel:+441632960110"
    looked_at(screen, "ghillie-rota-do-not-fish")
    screen.goto(reverse("water", args=[turn.rota.beat.fishery.slug]))
    above_the_fold(screen, line)
    looked_at(screen, "ghillie-tally-do-not-fish")
