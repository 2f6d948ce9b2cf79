"""The ghillie's whole day against a real process that is killed in the middle of it; and by keyboard alone."""

import pytest
from django.contrib.sessions.models import Session

from beats.models import PoolClosure, Reading
from safety.models import Acknowledgement, Recall
from sessions.models import Catch
from tests.browser.conftest import sign_in
from tests.browser.test_ghillie_day import fish, level
from tests.browser.test_guest_day import WAITING, seen
from tests.browser.test_guest_killed_server import back_in_reach
from tests.browser.test_keeper_pages import water  # noqa: F401 - a fixture
from tests.browser.test_url_map import let_in
from tests.factories import GuestFactory, LetFactory, PoolFactory, RodDayFactory, TurnFactory, keeper

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
NOTHING_SENT = "Nothing was sent"


@pytest.fixture
def at(real, web, water):  # noqa: F811
    """The address of the water's pages; a ghillie is signed in, and a second rod is on today's rota."""
    turn = water.rotas.get().turns.get()
    other = TurnFactory(
        rota=turn.rota, rod=turn.rod + 1, day=turn.day, part=turn.part, pool=PoolFactory(beat=water),
        guest=GuestFactory(fishery=water.fishery),
    )  # fmt: skip
    let = LetFactory(beat=water, first_on=turn.day, last_on=turn.day, rods=2, status="confirmed")
    for each in (turn, other):
        RodDayFactory(let=let, day=turn.day, rod=each.rod, guest=each.guest)
    real.ghillie = keeper(water.fishery, "ghillie")
    let_in(real, real.ghillie, web)
    return f"/at/{water.fishery.slug}/"


def test_a_whole_day_with_the_server_killed(real, web, water, at):  # noqa: F811
    real.goto(at)
    call = real.get_by_role("link", name="Call rods in")
    assert call.bounding_box()["y"] < 400  # the next action first, on a telephone too
    real.get_by_role("link", name="Look and answer").click()
    real.get_by_role("button", name="I am looking").dblclick(no_wait_after=True)
    real.get_by_text("answers until").first.wait_for()
    assert Acknowledgement.objects.count() == 1
    _level_while_it_is_dead(real, web, at)
    _rivers_up_while_it_is_dead(real, web, at)
    fish(real, at).dblclick(no_wait_after=True)
    assert seen(Catch)
    real.wait_for_load_state()
    assert Catch.objects.count() == 1


def _level_while_it_is_dead(page, web, at):
    button = level(page, at, "0.71")
    web.dies()
    button.click()
    page.get_by_text(WAITING).wait_for()
    web.up()
    back_in_reach(page)
    page.get_by_text(WAITING).wait_for(state="hidden")
    assert Reading.objects.get().level_m == 0.71


def _rivers_up_while_it_is_dead(page, web, at):
    page.goto(f"{at}river-up/")
    page.get_by_text("Kirk Pool").click()
    web.dies()
    button = page.get_by_role("button", name="Close them and mend the rota")
    button.click()
    page.get_by_text(NOTHING_SENT).wait_for()  # said at once, since late it would be wrong
    web.up()
    assert PoolClosure.objects.count() == 0
    assert page.locator("input[name=pools]:checked").count() == 1  # what was pressed stands
    button.dblclick(no_wait_after=True)
    assert seen(PoolClosure)
    page.wait_for_load_state()
    page.wait_for_timeout(500)
    assert PoolClosure.objects.count() == 1


def test_a_recall_does_not_wait_in_the_phone_and_is_sent_once(real, web, at):
    real.goto(f"{at}recall/")
    real.get_by_label("Or in your own words").fill("Trees at the ford " + "אבג")
    web.dies()
    real.get_by_role("button", name="Call them in now").click()
    real.get_by_text(NOTHING_SENT).wait_for()
    assert real.get_by_label("Or in your own words").input_value().startswith("Trees at the ford")
    web.up()
    Session.objects.all().delete()
    real.get_by_role("button", name="Call them in now").dblclick(no_wait_after=True)
    real.get_by_label("Your e-mail address").wait_for()
    sign_in(real, real.ghillie.email, path=real.url)
    real.get_by_role("button", name="Send it").dblclick(no_wait_after=True)
    real.get_by_text("NO ANSWER YET").wait_for()
    assert Recall.objects.get().reason.startswith("Trees at the ford")


FOCUS_SHOWS = """() => [document.activeElement, document.activeElement.parentElement].map(
    (one) => getComputedStyle(one)).some((it) => it.outlineStyle !== "none" && parseFloat(it.outlineWidth) >= 2)"""
CONTROLS = """() => [...document.querySelectorAll(
        "a[href], button, input:not([type=hidden]), select, textarea, summary")]
    .filter((one) => one.getClientRects().length && one.tabIndex >= 0
        && !(one.type === "radio" && !one.checked)).length"""


@pytest.mark.parametrize("path", ["", "recall/", "level/", "river-up/", "fish/", "rota/"])
def test_every_control_is_reached_by_tab_from_top_to_bottom_and_shows_it(real, at, path):
    real.goto(at + path)
    real.evaluate("document.activeElement.blur()")
    wanted, reached = real.evaluate(CONTROLS), []
    for _ in range(wanted + 20):
        real.keyboard.press("Tab")
        if real.evaluate("document.activeElement === document.body"):
            break
        assert real.evaluate(FOCUS_SHOWS), real.evaluate("document.activeElement.outerHTML")
        reached.append(real.evaluate("[...document.querySelectorAll('*')].indexOf(document.activeElement)"))
    assert len(set(reached)) >= wanted
    first_round = reached[: len(set(reached))]
    assert first_round == sorted(first_round)  # as it is read
