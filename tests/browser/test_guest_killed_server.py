"""The guest's whole day against a real process that is killed in the middle of it and comes back."""

import pytest
from django.contrib.sessions.models import Session

from sessions.models import Catch, Outing, PhoneNote
from tests.browser.conftest import sign_in
from tests.browser.test_guest_day import (
    WAITING,
    check_in,
    guest,  # noqa: F401 - a fixture
    hut,
    leave,
    seen,
)

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def back_in_reach(page):
    """What a phone tells its pages when it has signal again."""
    page.evaluate("window.dispatchEvent(new Event('online'))")


def test_a_whole_day_with_the_server_killed_twice(real, web, guest):  # noqa: F811
    sign_in(real, guest.email, path=hut(guest))
    _check_in_while_it_is_dead(real, web, guest)
    real.goto("/day/")
    with real.expect_navigation():
        real.get_by_role("button", name="Off the water by").first.click()
    assert PhoneNote.objects.filter(act="late").count() == 1
    _fish_twice_tapped(real)
    web.dies()
    real.goto("/day/")  # from the phone's own store
    leave(real).click()
    real.get_by_text(WAITING).wait_for()
    web.up()
    real.reload()
    assert seen(Outing, checked_out_at__isnull=False)
    real.get_by_role("link", name="Check in").wait_for()
    assert (Outing.objects.count(), PhoneNote.objects.filter(act="out").count()) == (1, 1)
    assert (Catch.objects.count(), PhoneNote.objects.filter(act="late").count()) == (1, 1)


def _check_in_while_it_is_dead(page, web, guest):  # noqa: F811
    page.goto(hut(guest))
    page.evaluate("navigator.serviceWorker.ready")
    page.reload()
    web.dies()
    page.get_by_text("Kirk Pool").click()
    page.get_by_text("Alone", exact=True).click()
    page.locator("input[name=back_by]").first.check()
    page.get_by_role("button", name="I am going on the water").click()
    page.get_by_text(WAITING).wait_for()
    assert Outing.objects.count() == 0
    web.up()
    back_in_reach(page)
    assert seen(Outing)
    page.get_by_role("heading", name="You are checked in").wait_for()  # the receipt
    outing = Outing.objects.get()
    assert (outing.alone, outing.pool.name) == (True, "Kirk Pool")


def _fish_twice_tapped(page):
    page.goto("/day/")
    page.get_by_role("link", name="A fish").click()
    page.get_by_text("salmon (multi-sea-winter)", exact=True).click()
    page.get_by_text("Put back").click()
    page.get_by_role("button", name="Write it down").dblclick(no_wait_after=True)
    page.get_by_text("Written down today").wait_for()
    assert Catch.objects.count() == 1


def test_back_after_a_deed_shows_the_day_as_it_is_and_does_nothing_twice(real, guest):  # noqa: F811
    sign_in(real, guest.email, path=hut(guest))
    check_in(real, guest)
    real.go_back()
    real.get_by_role("heading", name="You are checked in").wait_for()  # no stale form as if fresh
    assert Outing.objects.count() == 1
    real.goto("/day/")
    with real.expect_navigation():
        leave(real).click()
    real.go_back()
    real.get_by_role("link", name="Check in:").wait_for()
    assert real.get_by_text("I am off the water", exact=True).count() == 0
    assert PhoneNote.objects.filter(act="out").count() == 1


def test_a_sign_in_that_ended_shows_the_way_in_and_what_was_said_goes_afterwards(real, guest):  # noqa: F811
    sign_in(real, guest.email, path=hut(guest))
    check_in(real, guest)
    Session.objects.all().delete()
    leave(real).click()
    real.get_by_text(WAITING).wait_for()
    way = real.get_by_role("link", name="Sign in again")
    assert way.bounding_box()["height"] >= 44
    assert Outing.objects.get().checked_out_at is None
    way.click()
    sign_in(real, guest.email, path=real.url)
    assert seen(Outing, checked_out_at__isnull=False)
    assert PhoneNote.objects.filter(act="out").count() == 1


def test_a_second_tab_acts_after_the_first_has_checked_out(real, guest):  # noqa: F811
    sign_in(real, guest.email, path=hut(guest))
    check_in(real, guest)
    other = real.context.new_page()
    other.goto("/day/")
    with real.expect_navigation():
        leave(real).click()
    other.get_by_role("button", name="Off the water by").first.click()
    other.get_by_text("Not saved:").wait_for()
    assert not PhoneNote.objects.filter(act="late", outing__isnull=False).exists()
    assert Outing.objects.get().checked_out_at is not None
