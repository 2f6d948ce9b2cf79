"""Entries kept in a real phone browser: in which order they act, and what becomes of one that is refused."""

import datetime as dt

import pytest
from django.utils import timezone

from sessions.models import Outing, PhoneNote
from tests.browser.conftest import sign_in
from tests.browser.test_guest_day import (
    WAITING,
    check_in,
    guest,  # noqa: F401 - a fixture
    hut,
    seen,
)

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
HOUR, MINUTE = dt.timedelta(hours=1), dt.timedelta(minutes=1)
REFUSED = "Not saved:"


def signal_back(page):
    page.context.set_offline(False)
    page.evaluate("window.dispatchEvent(new Event('online'))")


def out_since_the_morning(page, guest):  # noqa: F811
    """On the water for four hours, with the pages of the day in the phone's own store."""
    page.clock.install(time=timezone.now())
    page.clock.resume()
    sign_in(page, guest.email, path=hut(guest))
    page.evaluate("navigator.serviceWorker.ready")
    page.reload()
    check_in(page, guest)
    Outing.objects.update(checked_in_at=timezone.now() - 4 * HOUR)
    page.reload()
    page.get_by_text("You are on the water").wait_for()


def test_out_and_in_again_without_signal(screen, guest):  # noqa: F811
    out_since_the_morning(screen, guest)
    screen.context.set_offline(True)
    screen.get_by_role("button", name="I am out").click()
    screen.get_by_text(WAITING).wait_for()
    screen.clock.fast_forward("30:00")
    screen.goto(hut(guest))
    screen.get_by_text("Kirk Pool").click()
    screen.get_by_text("Alone", exact=True).click()
    screen.locator("input[name=back_by]").last.check()
    screen.locator("input[name=other_time]").fill(f"{timezone.localtime() + 3 * HOUR:%H:%M}")
    screen.get_by_role("button", name="I am going in").click()
    screen.get_by_text("Check in, ").wait_for()
    screen.clock.fast_forward("01:00:00")
    signal_back(screen)
    assert seen(Outing, checked_out_at__isnull=False)
    assert seen(PhoneNote, act="in")
    morning, afternoon = Outing.objects.order_by("checked_in_at")
    now = timezone.now()
    assert abs(now - 90 * MINUTE - morning.checked_out_at) < MINUTE
    assert abs(now - 60 * MINUTE - afternoon.checked_in_at) < MINUTE
    assert afternoon.checked_out_at is None
    screen.get_by_role("heading", name="You are checked in").wait_for()  # the page was loaded anew


def test_what_is_refused_after_it_waited_stays_in_sight_until_it_is_removed(screen, guest):  # noqa: F811
    out_since_the_morning(screen, guest)
    screen.context.set_offline(True)
    screen.get_by_role("button", name="Back by").first.click()
    screen.get_by_text(WAITING).wait_for()
    Outing.objects.update(checked_out_at=timezone.now())  # a keeper met them
    signal_back(screen)
    screen.get_by_text(REFUSED).wait_for()
    screen.reload()
    screen.get_by_text(REFUSED).wait_for()
    screen.get_by_text("nobody is watching for you").wait_for()
    screen.get_by_text("ring the fishery. It stays on this phone").wait_for()
    screen.get_by_role("button", name="Remove").click()
    screen.get_by_text(REFUSED).wait_for(state="hidden")
    screen.reload()
    screen.get_by_role("link", name="Check in").wait_for()
    assert screen.get_by_text(REFUSED).count() == 0


def test_a_clock_put_back_while_it_waited_leaves_them_watched_and_says_so(screen, guest):  # noqa: F811
    out_since_the_morning(screen, guest)
    screen.context.set_offline(True)
    screen.get_by_role("button", name="I am out").click()
    screen.get_by_text(WAITING).wait_for()
    screen.clock.set_system_time(timezone.now() - 3 * HOUR)
    screen.reload()
    screen.get_by_text(WAITING).wait_for()
    signal_back(screen)
    screen.get_by_text("cannot say when this was entered").wait_for()
    assert Outing.objects.get().checked_out_at is None
    with screen.expect_navigation():
        screen.get_by_role("button", name="I am out").click()
    assert seen(Outing, checked_out_at__isnull=False)
