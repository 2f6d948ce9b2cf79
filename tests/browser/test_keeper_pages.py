"""The ghillie's pages in a real browser: axe-core, thumbs, twice the size; and a recall by one press."""

import datetime as dt

import pytest
from django.utils import timezone

from safety.models import Recall
from tests.browser.conftest import sign_in
from tests.browser.test_every_page import looked_at
from tests.factories import (
    AlarmFactory,
    BeatFactory,
    GaugeFactory,
    GuestFactory,
    OutingFactory,
    PoolFactory,
    RotaFactory,
    TurnFactory,
    keeper,
)

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def water():
    """A beat with somebody overdue, and a rota of today."""
    beat = BeatFactory(name="Upper")
    pool = PoolFactory(beat=beat, name="Kirk Pool", latitude=57.5, longitude=-4.5)
    GaugeFactory(fishery=beat.fishery)
    due = timezone.now() - dt.timedelta(hours=1)
    guest = GuestFactory(fishery=beat.fishery, name="Una " + "Longname" * 10)
    AlarmFactory(
        outing=OutingFactory(beat=beat, guest=guest, checked_in_at=due - dt.timedelta(hours=3), due_back_at=due)
    )
    today = timezone.now().date()
    rota = RotaFactory(beat=beat, first_on=today - dt.timedelta(days=today.weekday()), status="published")
    TurnFactory(rota=rota, day=today, pool=pool, guest=guest)
    return beat


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_ghillies_pages(screen, water, scheme):
    screen.emulate_media(color_scheme=scheme)
    at = f"/at/{water.fishery.slug}/"
    sign_in(screen, keeper(water.fishery, "ghillie").email, path=at)
    rota, alarm = water.rotas.get(), water.outings.get().alarms.get()
    pages = ("", f"alarms/{alarm.pk}/", "recall/", "level/", "rota/", "rota/plan/", f"rota/{rota.pk}/",
             f"rota/{rota.pk}/swap/", "river-up/", "fish/", f"poster/{water.slug}/")  # fmt: skip
    for path in pages:
        screen.goto(at + path)
        looked_at(screen, f"keeper-{path.replace('/', '-')}{scheme}")


def test_a_recall_is_one_press_and_a_double_tap_is_one_recall(screen, water):
    at = f"/at/{water.fishery.slug}/recall/"
    sign_in(screen, keeper(water.fishery, "ghillie").email, path=at)
    screen.get_by_role("button", name="Upper: everybody off the water").dblclick()
    screen.get_by_text("NO ANSWER YET").wait_for()
    assert Recall.objects.get().calls.count() == 1
