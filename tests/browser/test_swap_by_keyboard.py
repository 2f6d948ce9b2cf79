"""Two rods change places by the keys alone, from today's rota to the draft published: told first, then made."""

import datetime as dt

import pytest
from django.utils import timezone

from sessions.models import Rota
from tests.browser.keys import mark, press, tab_to
from tests.browser.test_url_map import let_in
from tests.factories import (
    BeatFactory,
    DayPartFactory,
    GuestFactory,
    LetFactory,
    PoolFactory,
    RodDayFactory,
    RotaFactory,
    TurnFactory,
    keeper,
)

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def rota(screen, live_server):
    """Three rods on three pools in a part that lasts all of today; the browser is the ghillie's, on the rota."""
    beat, today = BeatFactory(name="Upper"), timezone.now().date()
    part = DayPartFactory(
        fishery=beat.fishery, slug="all-day", name="all day", starts=dt.time(0), ends=dt.time(23, 59)
    )
    made = RotaFactory(beat=beat, status="published", first_on=today - dt.timedelta(days=today.weekday()))
    let = LetFactory(beat=beat, rods=3, first_on=today, last_on=today)
    for rod, (name, pool, worth) in enumerate(
        (("Una", "Kirk", 14), ("Bel", "Croy", 9), ("Cal", "Neck", 11)), start=1
    ):
        guest = GuestFactory(fishery=beat.fishery, name=name, wading_grade=3)
        RodDayFactory(let=let, day=today, rod=rod, guest=guest)
        TurnFactory(rota=made, day=today, part=part, rod=rod, guest=guest,
                    pool=PoolFactory(beat=beat, name=pool, worth=worth))  # fmt: skip
    let_in(screen, keeper(beat.fishery, "ghillie"), live_server)
    screen.goto(f"/at/{beat.fishery.slug}/rota/")
    return made


def places(rota):
    return dict(rota.turns.values_list("guest__name", "pool__name"))


def test_a_swap_is_told_then_made_then_published_by_keys_alone(screen, rota):
    press(screen, "Swap two rods")
    mark(screen, "1 · Una, Kirk", "2 · Bel, Croy")
    press(screen, "Show what it does")
    told = screen.locator("main").inner_text()
    assert "2 turns move" in told
    assert "Kirk → Croy" in told
    assert "Croy → Kirk" in told
    assert "worth of the worst-off rod" in told
    assert Rota.objects.get() == rota  # told, not made
    press(screen, "Make the draft")
    draft = Rota.objects.get(status="draft")
    assert places(draft) == {"Una": "Croy", "Bel": "Kirk", "Cal": "Neck"}
    assert places(rota) == {"Una": "Kirk", "Bel": "Croy", "Cal": "Neck"}
    press(screen, "Publish it")
    assert "Kirk\tall day: 2 · Bel" in screen.locator("main").inner_text()
    draft.refresh_from_db()
    assert draft.status == "published"


def test_three_picked_are_refused_and_one_unticked_by_the_space_bar_mends_it(screen, rota):
    press(screen, "Swap two rods")
    mark(screen, "1 · Una", "2 · Bel", "3 · Cal")
    press(screen, "Show what it does")
    screen.get_by_text("Tap two, not more and not fewer.").wait_for()
    assert screen.locator("input:checked").count() == 3  # nothing that was picked is lost
    mark(screen, "2 · Bel")
    press(screen, "Show what it does")
    assert "Kirk → Neck" in screen.locator("main").inner_text()
    press(screen, "Pick others")
    tab_to(screen, "1 · Una")
    assert Rota.objects.get() == rota
