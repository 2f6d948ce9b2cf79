"""Contact details and the limits of the watch in a browser: what is typed stays, and nothing overflows.

SCREENSHOTS names a folder for pictures.
"""

import os

import pytest
from django.urls import reverse
from django.utils import timezone

from sessions.models import Outing
from tests.browser.conftest import sign_in
from tests.factories import BeatFactory, PoolFactory, guest_with_account, keeper

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def guest():
    beat = BeatFactory(longest_outing_minutes=600)
    PoolFactory(beat=beat, name="Kirk Pool")
    keeper(beat.fishery)
    return guest_with_account(beat.fishery, phone="", wading_grade=None)


def looked_at(page, name):
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth"), f"{name} is too wide"
    if folder := os.environ.get("SCREENSHOTS"):
        width = page.viewport_size["width"]
        page.screenshot(path=f"{folder}/contact-{name}-{width}.png", full_page=True)


def test_a_first_visit_a_check_in_and_who_expects_me(screen, guest):
    beat = guest.fishery.beats.get()
    sign_in(screen, guest.email)
    screen.goto(reverse("home"))
    if "/contact/" not in screen.url:  # signing in has led there already
        screen.goto(reverse("day-contact", args=[guest.pk]))
    looked_at(screen, "first-visit")
    screen.get_by_label("Mobile number of the angler").fill("12345")
    screen.get_by_label("Emergency contact: name").fill("Ruth Quill")
    screen.get_by_role("button", name="Save").click()
    screen.get_by_text("Write a telephone number that can be dialled").first.wait_for()
    assert screen.get_by_label("Emergency contact: name").input_value() == "Ruth Quill"
    looked_at(screen, "fault")
    screen.goto(reverse("check-in", args=[guest.fishery.slug, beat.slug]))
    looked_at(screen, "check-in")
    screen.get_by_text("Kirk Pool").click()
    screen.get_by_text("Alone", exact=True).click()
    screen.locator("input[name=back_by]").first.check()
    screen.get_by_label("Who expects you off the water, and where?").fill("Ruth, grey van at the bridge")
    screen.get_by_role("button", name="I am going on the water").click()
    screen.get_by_text("You are on the water").wait_for()
    looked_at(screen, "day")
    assert Outing.objects.get().meeting_person == "Ruth, grey van at the bridge"
    screen.get_by_role("link", name="Who expects me").click()
    screen.get_by_label("At what time?").fill("23:59")
    looked_at(screen, "meeting")
    screen.get_by_role("button", name="Save").click()
    screen.get_by_text("expects you at 23:59").wait_for()
    screen.goto(reverse("day-contact", args=[guest.pk]))
    screen.get_by_label("Mobile number of the angler").fill("07700 900111")
    screen.get_by_label("Or their e-mail address").fill("ruth@example.org")
    screen.get_by_label("Emergency contact: name").fill("Ruth Quill")
    screen.get_by_role("button", name="Save").click()
    screen.wait_for_url("**/day/")
    guest.refresh_from_db()
    assert guest.phone == "+447700900111"
    assert not Outing.objects.get().watched_by_time_only


def test_the_keepers_list_and_form(screen, guest):
    ghillie = keeper(guest.fishery, "ghillie")
    now = timezone.now()
    guest_with_account(guest.fishery, name="Ann Carr", emergency_contact_email="rory@example.org")
    sign_in(screen, ghillie.email, path=reverse("guests", args=[guest.fishery.slug]))
    looked_at(screen, "guests")
    screen.get_by_role("link", name=guest.name).click()
    screen.get_by_label("Mobile number of the angler").fill("07700 900111")
    screen.get_by_text("To the thigh").click()
    looked_at(screen, "guest")
    screen.get_by_role("button", name="Save").click()
    screen.get_by_role("heading", name="Guests").wait_for()
    guest.refresh_from_db()
    assert (guest.phone, guest.wading_grade) == ("+447700900111", 2)
    assert now < timezone.now()
