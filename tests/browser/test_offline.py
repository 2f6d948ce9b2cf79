"""Without signal: what a phone holds after signing in and checking in, and what it says of it."""

import datetime as dt
import time

import pytest
from django.urls import reverse
from django.utils import timezone

from beats.models import Beat
from bookings.models import Let
from sessions.models import Outing
from tests.browser.conftest import sign_in
from tests.browser.test_guest_day import (
    check_in,
    guest,  # noqa: F401 - a fixture
    hut,
    leave,
    seen,
)
from tests.factories import (
    AlarmFactory,
    DayPartFactory,
    LetFactory,
    OutingFactory,
    PoolFactory,
    RodDayFactory,
    RotaFactory,
    TurnFactory,
    guest_with_account,
    keeper,
)

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
NO_CONNECTION = "No connection now"
LATITUDE, LONGITUDE = 57.61, -5.35


@pytest.fixture
def booked(guest):  # noqa: F811
    """A rod, a turn and a permit for today on a pool with a position and a way in."""
    beat = Beat.objects.get(fishery=guest.fishery)
    beat.pools.update(latitude=LATITUDE, longitude=LONGITUDE, access="By the stile at the alder")
    today = timezone.localdate()
    let = LetFactory(beat=beat, booker=guest, first_on=today, last_on=today, status=Let.Status.CONFIRMED)
    RodDayFactory(let=let, day=today, rod=1, guest=guest)
    part = DayPartFactory(fishery=guest.fishery, starts=dt.time(0), ends=dt.time(23, 59))
    rota = RotaFactory(beat=beat, first_on=today - dt.timedelta(days=today.weekday()), status="published")
    TurnFactory(rota=rota, rod=1, day=today, pool=beat.pools.get(), part=part, guest=guest)
    return guest


HELD = "path => window.caches.match(path).then((found) => (found ? found.text() : ''))"


def held(page, path, words="") -> bool:
    """Whether the phone holds this page, with these words in it."""
    text = page.evaluate(HELD, path)
    return bool(text) and words in text


def until(true):
    end = time.monotonic() + 30
    while not true():
        assert time.monotonic() < end
        time.sleep(0.2)


def kept(page, *paths, words=""):
    """Wait until the phone holds these pages."""
    for path in paths:
        until(lambda path=path: held(page, path, words))


def help_of(person):
    return reverse("day-help", args=[person.pk])


def checked_in_and_gone(page, person):
    """Signed in and checked in, no page opened beside; then there is no signal."""
    sign_in(page, person.email, path=hut(person))
    check_in(page, person)
    kept(page, help_of(person), "/day/", "/day/papers/", hut(person))
    page.context.set_offline(True)


def test_help_opens_without_signal_though_it_was_never_opened_before(screen, booked):
    checked_in_and_gone(screen, booked)
    screen.get_by_role("link", name="Help").click()
    screen.get_by_role("heading", name="Do you need help?").wait_for()
    page = screen.inner_text("body")
    assert NO_CONNECTION in page
    assert "As of" in page
    assert screen.locator('a[href="tel:999"]').count() >= 1
    assert screen.locator('a[href="tel:112"]').count() >= 1
    assert "NG " in page or "NH " in page or "NC " in page
    assert "By the stile at the alder" in page


def test_a_call_for_help_without_signal_is_said_not_to_be_sent(screen, booked):
    checked_in_and_gone(screen, booked)
    screen.goto(help_of(booked))
    screen.get_by_role("button", name="Yes, tell the keepers").click()
    alert = screen.locator("#not-sent")
    alert.wait_for(state="visible")
    assert "Not sent. Ring 999 or 112" in alert.inner_text()
    assert "while this page stays open" in alert.inner_text()
    screen.context.set_offline(False)
    screen.evaluate("window.dispatchEvent(new Event('online'))")
    screen.get_by_text("The keepers are being told").first.wait_for()
    assert Outing.objects.get().alarms.filter(kind="help").count() == 1


@pytest.mark.parametrize("path", ["/day/", "/day/papers/", "hut"])
def test_day_turns_papers_and_check_in_open_without_signal(screen, booked, path):
    checked_in_and_gone(screen, booked)
    screen.goto(hut(booked) if path == "hut" else path)
    page = screen.inner_text("body")
    assert NO_CONNECTION in page
    if path == "/day/":
        assert "Kirk Pool" in page
        assert screen.get_by_role("heading", name="Your turns today").count() == 1
    if path == "/day/papers/":
        assert "Permission to fish" in page


def test_the_permit_itself_is_in_the_phone(screen, booked):
    sign_in(screen, booked.email, path="/day/")
    kept(screen, reverse("my-permit", args=[Let.objects.get().pk]))
    screen.context.set_offline(True)
    read = "path => fetch(path).then((a) => a.headers.get('content-type'), () => 'no answer')"
    assert screen.evaluate(read, reverse("my-permit", args=[Let.objects.get().pk])) == "application/pdf"


@pytest.mark.parametrize("path", ["/day/7/other/", "/day/999/anything/", "/check-in/some/where/", "/phones/"])
def test_any_page_that_is_not_in_the_phone_opens_help(screen, booked, path):
    checked_in_and_gone(screen, booked)
    screen.goto(path)
    screen.get_by_role("heading", name="Do you need help?").wait_for()
    assert "is not kept in this phone" in screen.inner_text("body")


def test_help_comes_in_the_language_of_the_page(screen, booked):
    sign_in(screen, booked.email, path=hut(booked))
    check_in(screen, booked)
    with screen.expect_navigation():
        screen.get_by_role("button", name="Deutsch").click()
    kept(screen, help_of(booked), words='<html lang="de"')
    screen.context.set_offline(True)
    screen.goto("/day/999/anything/")
    assert screen.evaluate("document.documentElement.lang") == "de"


def test_what_the_phone_holds_is_renewed_on_a_visit(screen, booked):
    sign_in(screen, booked.email, path="/day/")
    kept(screen, help_of(booked))
    Beat.objects.get(fishery=booked.fishery).pools.update(access="By the new gate")
    check_in(screen, booked)
    kept(screen, help_of(booked), words="new gate")


def test_one_page_that_fails_keeps_the_others_and_what_was_there(screen, booked):
    sign_in(screen, booked.email, path="/day/")
    kept(screen, help_of(booked), "/day/papers/")
    screen.context.route("**/day/papers/", lambda route: route.fulfill(status=500, body="no"))
    check_in(screen, booked)
    kept(screen, help_of(booked))
    screen.context.unroute("**/day/papers/")
    screen.context.set_offline(True)
    screen.goto("/day/papers/")
    assert "Permission to fish" in screen.inner_text("body")


def test_signing_out_takes_every_page_out_of_the_phone(screen, booked):
    sign_in(screen, booked.email, path="/day/")
    kept(screen, help_of(booked))
    screen.goto("/sign-out/")
    screen.get_by_role("button", name="Sign out").click()
    screen.get_by_text("You are signed out").wait_for()
    until(lambda: not held(screen, "/day/"))
    screen.context.set_offline(True)
    screen.goto("/day/")
    page = screen.inner_text("body")
    assert booked.fishery.name not in page
    assert "999" in page


def test_the_next_person_at_the_same_phone_sees_nothing_of_the_last(screen, booked):
    sign_in(screen, booked.email, path="/day/")
    kept(screen, help_of(booked))
    screen.context.clear_cookies()  # a session that ended, without signing out
    other = guest_with_account(booked.fishery)
    sign_in(screen, other.email, path="/sign-in/")
    screen.goto("/day/")
    kept(screen, help_of(other))
    assert not held(screen, help_of(booked))


def test_the_server_dies_and_help_still_opens(real, web, booked):
    sign_in(real, booked.email, path=hut(booked))
    check_in(real, booked)
    kept(real, help_of(booked))
    web.dies()
    real.goto(help_of(booked))
    assert NO_CONNECTION in real.inner_text("body")


def test_a_keeper_without_signal_has_the_tally_and_the_card(screen, booked):
    beat = Beat.objects.get(fishery=booked.fishery)
    now = timezone.now()
    hour = dt.timedelta(hours=1)
    late = OutingFactory(
        beat=beat, guest=booked, checked_in_at=now - 5 * hour, due_back_at=now - hour, alarm_at=now - hour
    )
    alarm = AlarmFactory(outing=late)
    out = OutingFactory(beat=beat, due_back_at=now + dt.timedelta(hours=2), pool=PoolFactory(beat=beat))
    ghillie = keeper(booked.fishery, "ghillie")
    at = f"/at/{booked.fishery.slug}/"
    pages = (f"{at}alarms/{alarm.pk}/", f"{at}outings/{out.pk}/")
    sign_in(screen, ghillie.email, path=at)
    kept(screen, at, *pages)
    screen.context.set_offline(True)
    screen.goto(at)
    page = screen.inner_text("body")
    assert booked.name in page
    assert NO_CONNECTION in page
    for path in pages:
        screen.goto(path)
        assert "Grid reference" in screen.inner_text("body")
    screen.goto(f"{at}rota/week/nowhere/")
    assert booked.name in screen.inner_text("body")  # the tally


def test_a_kept_check_out_leaves_by_background_sync_when_its_page_is_closed(screen, booked):
    sign_in(screen, booked.email, path=hut(booked))
    check_in(screen, booked)
    kept(screen, "/day/")
    screen.context.set_offline(True)
    leave(screen).click()
    screen.get_by_text("the watch goes on until this is received").first.wait_for()
    assert Outing.objects.get().checked_out_at is None
    tools = screen.context.new_cdp_session(screen)
    found = []
    tools.on("ServiceWorker.workerRegistrationUpdated", lambda told: found.extend(told["registrations"]))
    tools.send("ServiceWorker.enable")
    screen.context.set_offline(False)
    screen.goto("about:blank")  # no page of ours is open
    until(lambda: bool(found) or screen.wait_for_timeout(100))
    origin = found[0]["scopeURL"].rstrip("/")
    facts = {"origin": origin, "registrationId": found[0]["registrationId"], "tag": "rodtally-unsent"}
    tools.send("ServiceWorker.dispatchSyncEvent", facts | {"lastChance": False})
    assert seen(Outing, checked_out_at__isnull=False)


def test_the_watch_ends_only_at_the_second_action_and_can_be_undone(screen, booked):
    sign_in(screen, booked.email, path=hut(booked))
    check_in(screen, booked)
    button = leave(screen)
    assert button.bounding_box()["height"] >= 44
    assert Outing.objects.get().checked_out_at is None
    button.click()
    screen.get_by_text("The watch has ended").wait_for()
    assert Outing.objects.get().checked_out_at is not None
    screen.get_by_role("button", name="Undo: I am still on the water").click()
    screen.get_by_text("You are on the water").wait_for()
    assert Outing.objects.get().checked_out_at is None


def test_a_double_tap_on_the_first_action_ends_nothing(screen, booked):
    sign_in(screen, booked.email, path=hut(booked))
    check_in(screen, booked)
    screen.get_by_text("I am off the water", exact=True).dblclick()
    screen.wait_for_timeout(500)
    assert Outing.objects.get().checked_out_at is None
