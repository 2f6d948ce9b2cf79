"""A real Chromium, from the system (CHROMIUM names another), against Django's own test server.

BROWSER_TIMEOUT_MS waits longer on a busy machine.
"""

import os
import re
import shutil

import pytest
from django.core import mail
from django.utils import timezone
from playwright.sync_api import sync_playwright

from beats.services.sign_in import send_codes
from tests.browser.real_web import RealWeb

os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = (
    "true"  # Playwright keeps a loop in this thread; nothing of ours runs in it
)
SIZES = {"phone": (360, 740), "desk": (1280, 800)}
QUIET = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
         "--disable-component-update", "--disable-sync", "--disable-dev-shm-usage"]  # fmt: skip


@pytest.fixture(scope="session")
def chromium():
    path = os.environ.get("CHROMIUM") or shutil.which("chromium")
    if not path:
        pytest.fail("No Chromium: install the system's package `chromium`, or name one in CHROMIUM.")
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=path, args=QUIET)
        yield browser
        browser.close()


@pytest.fixture(params=SIZES)
def screen(request, chromium, live_server):
    """A page at the size of a phone, and of a desk."""
    yield from opened(chromium, live_server.url, request.param)


@pytest.fixture(scope="session")
def web(django_db_setup, django_db_blocker):
    """The real web server as a process of its own, to be killed and started again."""
    server = RealWeb()
    with django_db_blocker.unblock():
        yield server
    server.dies()


@pytest.fixture(params=SIZES)
def real(request, chromium, web, transactional_db):
    """As `screen`, but what answers is the process of `web`."""
    web.up()
    yield from opened(chromium, web.url, request.param)
    web.up()


def opened(chromium, address, size):
    width, height = SIZES[size]
    context = chromium.new_context(
        viewport={"width": width, "height": height}, base_url=address, locale="en-GB", has_touch=size == "phone",
    )  # fmt: skip
    page = context.new_page()
    page.set_default_timeout(int(os.environ.get("BROWSER_TIMEOUT_MS", "10000")))
    page.faults = []
    page.on("pageerror", lambda fault: page.faults.append(str(fault)))
    yield page
    assert page.faults == []
    context.close()


def sign_in(page, email, *, path="/"):
    """By the code, as a person does."""
    page.goto(path)
    if (way := page.get_by_role("link", name="Sign in to check in")).count():
        way.click()
    page.get_by_label("Your e-mail address").fill(email)
    page.get_by_role("button", name="Send me a code").click()
    page.get_by_label("The code, eight figures").wait_for()
    send_codes(clock=timezone.now)
    page.get_by_label("The code, eight figures").fill(re.search(r"\d{4} \d{4}", mail.outbox[-1].subject)[0])
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url(lambda url: "/sign-in/" not in url)  # the page asks for the server before it sends
    page.wait_for_load_state()
