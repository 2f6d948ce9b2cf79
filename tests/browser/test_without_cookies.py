"""A browser that keeps no cookies is told what to do, with the script and without: it goes round in no circle."""

import pytest

from beats.models import SignIn
from tests.browser.conftest import SIZES
from tests.browser.test_every_page import looked_at
from tests.browser.test_guest_day import guest, hut  # noqa: F401 - a fixture among them

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
WORDS = "This browser keeps no cookies, or has just lost them."
REMEDY = "In the browser's settings allow cookies for this site"


def forgetful(context):
    """Take every Set-Cookie away before the browser sees it."""

    def answer(route):
        got = route.fetch(max_redirects=0)
        context.clear_cookies()  # what fetched it kept some
        headers = {name: value for name, value in got.headers.items() if name != "set-cookie"}
        route.fulfill(response=got, headers=headers)

    context.route("**/*", answer)


@pytest.fixture(params=[(size, script) for size in SIZES for script in (True, False)], ids=str)
def page(request, chromium, live_server):
    size, script = request.param
    width, height = SIZES[size]
    context = chromium.new_context(
        viewport={"width": width, "height": height}, base_url=live_server.url, locale="en-GB",
        java_script_enabled=script, service_workers="block",
    )  # fmt: skip
    forgetful(context)
    page = context.new_page()
    page.has_script = script
    yield page
    context.unroute_all(behavior="ignoreErrors")  # some answers may be on their way
    context.close()


def test_whoever_signs_in_is_told_what_to_do(page, guest):  # noqa: F811
    page.goto(hut(guest))
    page.get_by_role("link", name="Sign in to check in").click()
    page.get_by_label("Your e-mail address").wait_for()
    page.get_by_text(WORDS).wait_for(state="visible" if page.has_script else "hidden")  # before anything is typed
    page.get_by_label("Your e-mail address").fill(guest.email)
    page.get_by_role("button", name="Send me a code").click()
    page.get_by_role("heading", name="Not sent").wait_for()
    assert page.get_by_text(WORDS).is_visible()
    assert page.get_by_text(REMEDY).is_visible()
    assert not SignIn.objects.exists()
    if page.has_script:
        looked_at(page, "no-cookies")
    page.get_by_role("link", name="I allow them now").click()
    page.get_by_label("Your e-mail address").wait_for()


def test_a_browser_with_cookies_is_told_nothing_of_it(screen):
    screen.goto("/sign-in/")
    screen.get_by_role("button", name="Send me a code").wait_for()
    assert screen.get_by_text(WORDS).is_hidden()
