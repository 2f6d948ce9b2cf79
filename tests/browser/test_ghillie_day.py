"""The ghillie in a real browser with the signal cut, and with a session that ended."""

import datetime as dt

import pytest
from django.contrib.sessions.models import Session
from django.utils import timezone

from beats.models import Reading
from safety.models import Recall
from sessions.models import Catch
from tests.browser.conftest import sign_in
from tests.browser.test_guest_day import WAITING, seen
from tests.browser.test_keeper_pages import water  # noqa: F401 - a fixture
from tests.factories import keeper

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def at(screen, water):  # noqa: F811
    """The address of a page of the water; a ghillie is signed in."""
    address = f"/at/{water.fishery.slug}/"
    screen.ghillie = keeper(water.fishery, "ghillie")
    sign_in(screen, screen.ghillie.email, path=address)
    return address


def level(page, at, metres):
    page.goto(f"{at}level/")
    page.get_by_label("Level in metres, as the board reads").fill(metres)
    return page.get_by_role("button", name="Note it")


def fish(page, at):
    page.goto(f"{at}fish/")
    page.get_by_text("grilse (one sea winter)", exact=True).click()
    page.get_by_text("put back", exact=True).click()
    return page.get_by_role("button", name="Write it down")


def test_what_is_noted_without_signal_is_sent_once_there_is_some(screen, water, at):  # noqa: F811
    for form, model in ((lambda: level(screen, at, "0.71"), Reading), (lambda: fish(screen, at), Catch)):
        button = form()
        screen.context.set_offline(True)
        button.click()
        screen.get_by_text(WAITING).wait_for()
        assert model.objects.count() == 0
        screen.context.set_offline(False)
        screen.evaluate("window.dispatchEvent(new Event('online'))")
        assert seen(model)
        screen.get_by_text(WAITING).wait_for(state="hidden")
    reading = Reading.objects.get()
    assert abs(timezone.now() - reading.at) < dt.timedelta(minutes=5)
    assert (reading.level_m, Catch.objects.count()) == (0.71, 1)


def test_a_session_that_ended_leads_to_sign_in_and_back_with_all_that_was_typed(screen, water, at):  # noqa: F811
    screen.goto(f"{at}recall/")
    screen.get_by_label("Or in your own words").fill("Trees are down at the ford")
    Session.objects.all().delete()
    screen.get_by_role("button", name="Upper: everybody off the water").wait_for()
    screen.locator("main form").last.get_by_role("button").click()
    screen.get_by_label("Your e-mail address").wait_for()
    assert Recall.objects.count() == 0
    sign_in(screen, screen.ghillie.email, path=screen.url)
    screen.get_by_role("button", name="Send it").click()
    screen.get_by_text("NO ANSWER YET").wait_for()
    assert Recall.objects.get().reason == "Trees are down at the ford"


def test_a_level_noted_signed_out_waits_in_the_phone(screen, water, at):  # noqa: F811
    button = level(screen, at, "0.80")
    Session.objects.all().delete()
    button.click()
    screen.get_by_text(WAITING).wait_for()
    assert Reading.objects.count() == 0
    sign_in(screen, screen.ghillie.email, path="/sign-in/")
    screen.goto(at)
    assert seen(Reading, level_m=0.80)
