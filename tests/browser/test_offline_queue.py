"""Entries kept in a real phone browser: in which order they act, and what becomes of one that is refused."""

import datetime as dt

import pytest
from django.utils import timezone

from sessions.models import Outing, PhoneNote
from sessions.services import by_phone
from tests.browser.conftest import sign_in
from tests.browser.test_guest_day import (
    WAITING,
    check_in,
    guest,  # noqa: F401 - a fixture
    hut,
    leave,
    seen,
)
from tests.browser.test_offline import until

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
HOUR, MINUTE = dt.timedelta(hours=1), dt.timedelta(minutes=1)
REFUSED = "Not saved:"


def signal_back(page):
    page.context.set_offline(False)
    page.evaluate("window.dispatchEvent(new Event('online'))")


def fill_check_in(page, guest):  # noqa: F811
    page.goto(hut(guest))
    page.get_by_text("Kirk Pool").click()
    page.get_by_text("Alone", exact=True).click()
    page.locator("input[name=back_by]").last.check()
    page.locator("input[name=other_time]").fill(f"{timezone.localtime() + 3 * HOUR:%H:%M}")
    page.get_by_role("button", name="I am going on the water").click()


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
    leave(screen).click()
    screen.get_by_text(WAITING).wait_for()
    screen.clock.fast_forward("30:00")
    fill_check_in(screen, guest)
    screen.get_by_text("Check-in: nobody watches until this is received, ").wait_for()
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
    screen.get_by_role("button", name="Off the water by").first.click()
    screen.get_by_text(WAITING).wait_for()
    Outing.objects.update(checked_out_at=timezone.now())  # a keeper met them
    signal_back(screen)
    screen.get_by_text(REFUSED).wait_for()
    screen.reload()
    screen.get_by_text(REFUSED).wait_for()
    screen.get_by_text("nobody is watching for you").wait_for()
    screen.get_by_text("It stays on this phone until you remove it").wait_for()
    screen.get_by_role("button", name="Remove").click()
    screen.get_by_text(REFUSED).wait_for(state="hidden")
    screen.reload()
    screen.get_by_role("link", name="Check in").wait_for()
    assert screen.get_by_text(REFUSED).count() == 0


def test_a_clock_put_back_while_it_waited_leaves_them_watched_and_says_so(screen, guest):  # noqa: F811
    out_since_the_morning(screen, guest)
    screen.context.set_offline(True)
    leave(screen).click()
    screen.get_by_text(WAITING).wait_for()
    screen.clock.set_system_time(timezone.now() - 3 * HOUR)
    screen.reload()
    screen.get_by_text(WAITING).wait_for()
    signal_back(screen)
    screen.get_by_text("cannot say when this was entered").wait_for()
    assert Outing.objects.get().checked_out_at is None
    with screen.expect_navigation():
        leave(screen).click()
    assert seen(Outing, checked_out_at__isnull=False)


def sync_with_no_page_open(page):
    """What a browser does by itself when there is signal again and no page is open. Returns how it tries again."""
    tools = page.context.new_cdp_session(page)
    found = []
    tools.on("ServiceWorker.workerRegistrationUpdated", lambda event: found.extend(event["registrations"]))
    tools.send("ServiceWorker.enable")
    page.goto("about:blank")
    page.context.set_offline(False)
    until(lambda: bool(found) or page.wait_for_timeout(100))
    facts = {"origin": found[0]["scopeURL"].rstrip("/"), "registrationId": found[0]["registrationId"]}
    sync = facts | {"tag": "rodtally-unsent", "lastChance": False}
    tools.send("ServiceWorker.dispatchSyncEvent", sync)
    return lambda: tools.send("ServiceWorker.dispatchSyncEvent", sync)


def test_background_sync_marks_what_is_refused_and_sends_what_comes_after_it(screen, guest):  # noqa: F811
    out_since_the_morning(screen, guest)
    screen.context.set_offline(True)
    screen.get_by_role("button", name="Off the water by").first.click()
    screen.get_by_text(WAITING).wait_for()
    fill_check_in(screen, guest)
    screen.get_by_text("Check-in: nobody watches until this is received, ").wait_for()
    Outing.objects.update(checked_out_at=timezone.now())  # a keeper met them
    sync_with_no_page_open(screen)
    assert seen(Outing, checked_out_at=None)
    assert Outing.objects.filter(checked_out_at=None).count() == 1
    screen.goto("/day/")
    screen.get_by_text(REFUSED).wait_for()
    screen.get_by_text("You are on the water").wait_for()


def test_background_sync_does_not_guess_when_an_entry_was_made(screen, guest, monkeypatch):  # noqa: F811
    refused, refusal = [], by_phone.time_unknown
    monkeypatch.setattr(by_phone, "time_unknown", lambda: refused.append(True) or refusal())
    out_since_the_morning(screen, guest)
    screen.context.set_offline(True)
    screen.clock.set_system_time(timezone.now() + 3 * HOUR)  # put right before it is sent
    ahead = (timezone.now() + 2 * HOUR).timestamp() * 1000
    until(lambda: screen.evaluate("Date.now()") > ahead or screen.wait_for_timeout(100))
    screen.route("**", lambda route: route.abort() if route.request.method == "POST" else route.fallback())
    pressed = timezone.now()
    leave(screen).click()  # not sent from the page, also where the browser's own offline mode lets it through
    screen.get_by_text(WAITING).wait_for()
    again = sync_with_no_page_open(screen)
    for _ in range(10):
        if not refused:
            screen.wait_for_timeout(2000)
            again()
    if not refused and Outing.objects.get().checked_out_at is None:
        pytest.skip("the browser ran no background sync: nothing was sent, so nothing was guessed")
    screen.wait_for_timeout(1000)  # the worker marks it
    if (left_at := Outing.objects.get().checked_out_at) is not None and not refused:
        assert abs(left_at - pressed) < MINUTE
        pytest.skip("the browser let it through at once: nothing waited, and the time is the right one")
    assert left_at is None
    screen.unroute_all()
    screen.goto("/day/")
    screen.get_by_text("cannot say when this was entered").wait_for()
