"""The guest's whole day in a real browser, with the signal cut in the middle of it."""

import datetime as dt

import pytest
from django.urls import reverse
from django.utils import timezone

from beats.models import Beat
from safety.services.pulse import beat_pulse
from sessions.models import Catch, Outing, PhoneNote
from tests.browser.conftest import sign_in
from tests.factories import BeatFactory, PoolFactory, guest_with_account, keeper

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
WAITING = "Kept in this phone, not yet received"


@pytest.fixture
def guest():
    beat = BeatFactory(longest_outing_minutes=600)
    PoolFactory(beat=beat, name="Kirk Pool")
    keeper(beat.fishery)
    beat_pulse("sweep", now=timezone.now())
    return guest_with_account(beat.fishery, phone="+441632960110", emergency_contact_phone="+441632960111")


def hut(guest):
    beat = Beat.objects.get(fishery=guest.fishery)
    return reverse("check-in", args=[guest.fishery.slug, beat.slug])


def check_in(page, guest):
    page.goto(hut(guest))
    page.get_by_text("Kirk Pool").click()
    page.get_by_text("Alone", exact=True).click()
    page.locator("input[name=back_by]").first.check()
    page.get_by_role("button", name="I am going on the water").click()
    page.get_by_text("You are on the water").wait_for()


def leave(page):
    """Off the water, and once more: the second action ends the watch."""
    page.get_by_text("I am off the water", exact=True).click()
    return page.get_by_role("button", name="Yes, off the water")


def seen(model, **facts):
    """Wait until the server has it."""
    until = timezone.now() + dt.timedelta(seconds=10)
    while timezone.now() < until:
        if model.objects.filter(**facts).exists():
            return True
    return False


def test_a_whole_day(screen, guest):
    sign_in(screen, guest.email, path=hut(guest))
    check_in(screen, guest)
    outing = Outing.objects.get()
    assert (outing.guest, outing.alone, outing.pool.name) == (guest, True, "Kirk Pool")
    for name, act in (("I am fine", "fine"), ("Off the water by", "late")):
        with screen.expect_navigation():
            screen.get_by_role("button", name=name).first.click()
        assert PhoneNote.objects.filter(act=act).exists()
    leave(screen).click()
    screen.get_by_text("The watch has ended").wait_for()
    screen.get_by_role("link", name="Record a catch").click()
    screen.get_by_text("salmon (multi-sea-winter)", exact=True).click()
    screen.get_by_text("Put back").click()
    screen.get_by_role("button", name="Write it down").click()
    screen.get_by_text("Written down today").wait_for()
    outing.refresh_from_db()
    assert outing.checked_out_at is not None
    assert Catch.objects.get().guest == guest


def test_without_signal_it_is_kept_said_so_and_sent_afterwards(screen, guest):
    sign_in(screen, guest.email, path=hut(guest))
    check_in(screen, guest)
    screen.evaluate("navigator.serviceWorker.ready")
    screen.reload()  # the first visit under the worker is the one it keeps
    screen.context.set_offline(True)
    leave(screen).click()
    screen.get_by_text(WAITING).wait_for()
    assert Outing.objects.get().checked_out_at is None
    screen.reload()
    screen.get_by_text("You are on the water").wait_for()  # from the phone's own store
    screen.get_by_text(WAITING).wait_for()
    screen.context.set_offline(False)
    screen.evaluate("window.dispatchEvent(new Event('online'))")
    assert seen(Outing, checked_out_at__isnull=False)
    screen.get_by_text(WAITING).wait_for(state="hidden")


def test_another_language_asked_for_without_signal_takes_no_page_away(screen, guest):
    sign_in(screen, guest.email, path=hut(guest))
    check_in(screen, guest)
    screen.evaluate("navigator.serviceWorker.ready")
    screen.reload()
    screen.context.set_offline(True)
    screen.get_by_role("button", name="Deutsch").click()
    screen.get_by_text("Nothing was sent").wait_for()
    screen.reload()
    screen.get_by_text("You are on the water").wait_for()
    screen.context.set_offline(False)
    screen.get_by_role("button", name="Deutsch").click()
    screen.get_by_text("Sie sind am Wasser").wait_for()
    assert screen.evaluate("document.documentElement.lang") == "de"


def test_the_server_gone_for_a_while(screen, guest):
    sign_in(screen, guest.email, path=hut(guest))
    check_in(screen, guest)
    screen.route("**/day/*/fine/", lambda route: route.abort("connectionrefused"))
    screen.get_by_role("button", name="I am fine").click()
    screen.get_by_text(WAITING).wait_for()
    screen.unroute("**/day/*/fine/")
    screen.reload()
    assert seen(PhoneNote, act="fine")


def test_a_double_tap_and_the_back_button(screen, guest):
    sign_in(screen, guest.email, path=hut(guest))
    check_in(screen, guest)
    screen.go_back()
    screen.goto("/day/")
    leave(screen).dblclick(no_wait_after=True)
    assert seen(Outing, checked_out_at__isnull=False)
    assert PhoneNote.objects.filter(act="out").count() == 1
    assert Outing.objects.count() == 1


def test_an_expired_cookie_loses_nothing(screen, guest):
    sign_in(screen, guest.email, path=hut(guest))
    check_in(screen, guest)
    screen.context.clear_cookies()
    leave(screen).click()
    screen.get_by_text(WAITING).wait_for()
    sign_in(screen, guest.email, path="/sign-in/")
    screen.goto("/day/")
    assert seen(Outing, checked_out_at__isnull=False)


def test_two_hours_wrong_on_the_phones_clock(screen, guest):
    screen.clock.install(time=timezone.now() + dt.timedelta(hours=2))
    screen.clock.resume()
    sign_in(screen, guest.email, path=hut(guest))
    check_in(screen, guest)
    screen.get_by_role("button", name="I am fine").click()
    assert seen(PhoneNote, act="fine")
    note = PhoneNote.objects.get(act="fine")
    assert abs((note.happened_at - timezone.now()).total_seconds()) < 60


def test_without_script_every_form_works(chromium, live_server, guest):
    context = chromium.new_context(java_script_enabled=False, base_url=live_server.url, locale="en-GB")
    page = context.new_page()
    sign_in(page, guest.email, path=hut(guest))
    check_in(page, guest)
    leave(page).click()
    page.get_by_text("The watch has ended").wait_for()
    assert Outing.objects.get().checked_out_at is not None
    context.close()
