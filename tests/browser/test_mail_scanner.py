"""What reads the post before its owner does opens every link and sends every form; the owner still gets in."""

import http.cookiejar
import re
import urllib.error
import urllib.parse
import urllib.request

import pytest
from django.contrib.sessions.models import Session
from django.core import mail
from django.utils import timezone

from beats.models import SignIn
from beats.services.sign_in import send_codes
from bookings.permits import check_in_address
from sessions.models import Outing
from tests.browser.test_guest_day import check_in, guest, hut  # noqa: F401 - a fixture among them
from tests.pages import Page

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


class Scanner:
    """Has read the letter, so it knows the address it went to and the code; has cookies of its own or none."""

    def __init__(self, origin, letter, *, cookies):
        self.origin, self.sent, self.seen = origin, 0, set()
        self.knows = {"email": letter.to[0], "code": re.search(r"\d{4} \d{4}", letter.body)[0]}
        jar = [urllib.request.HTTPCookieProcessor(http.cookiejar.CookieJar())] if cookies else []
        self.opener = urllib.request.build_opener(*jar)

    def ask(self, address, *, method, data=None):
        body = urllib.parse.urlencode(data).encode() if data is not None else None
        try:
            with self.opener.open(urllib.request.Request(address, data=body, method=method)) as answer:
                return answer.geturl(), answer.read().decode()
        except urllib.error.HTTPError as refused:
            return address, refused.read().decode(errors="replace")

    def open(self, address, *, deep=3):
        """HEAD, then GET, then each form by POST, and so on along the links."""
        if not address.startswith(self.origin) or address in self.seen or deep == 0:
            return
        self.seen.add(address)
        self.ask(address, method="HEAD")
        reached, html = self.ask(address, method="GET")
        page = Page(html)
        for form in page.forms:
            typed = [(each.name, self.knows.get(each.name, each.value)) for each in form.fields]
            self.ask(urllib.parse.urljoin(reached, form.action or reached), method="POST", data=typed)
            self.sent += 1
        for link in page.links:
            self.open(urllib.parse.urljoin(reached, link), deep=deep - 1)


def signed_in():
    return sum("_auth_user_id" in session.get_decoded() for session in Session.objects.all())


def links_of(letter, origin):
    """Those in the letter, the one behind the code at the hut, and the ways in that everybody knows."""
    found = re.findall(r"https?://[^\s<>]+", letter.body)
    return [
        *found,
        *(origin + path for path in ("/", "/sign-in/", "/sign-in/code/", "/day/", "/kept/", "/sign-out/")),
    ]


@pytest.mark.parametrize("cookies", [False, True], ids=["without cookies", "with cookies of its own"])
def test_a_scanner_uses_nothing_up(screen, guest, live_server, settings, cookies):  # noqa: F811
    settings.PUBLIC_URL = live_server.url
    screen.goto(hut(guest))
    screen.get_by_role("link", name="Sign in to check in").click()
    screen.get_by_label("Your e-mail address").fill(guest.email)
    screen.get_by_role("button", name="Send me a code").click()
    screen.get_by_label("The code, eight figures").wait_for()
    send_codes(clock=timezone.now)
    letter, mine = mail.outbox[-1], SignIn.objects.get()
    assert "http" not in letter.body  # nothing to press, so nothing to press by mistake
    scanner = Scanner(live_server.url, letter, cookies=cookies)
    for link in [check_in_address(guest.fishery.beats.get()), *links_of(letter, live_server.url)]:
        scanner.open(link)
    assert scanner.sent >= 5
    mine.refresh_from_db()
    assert (mine.used_at, mine.tries) == (None, 0)
    assert (signed_in(), Outing.objects.count()) == (0, 0)
    assert cookies or SignIn.objects.count() == 1  # without them it cannot even ask for a code
    screen.get_by_label("The code, eight figures").fill(scanner.knows["code"])
    screen.get_by_role("button", name="Sign in").click()
    screen.wait_for_url(lambda url: "/sign-in/" not in url)
    check_in(screen, guest)
    assert (signed_in(), Outing.objects.count()) == (1, 1)
