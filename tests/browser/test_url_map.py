"""Every page of the URL map, looked at in light and in dark at both sizes, with SCREENSHOTS photographed.

A new address fails here until it is said which row it shows, or why it is no page to look at.
"""

import datetime as dt

import pytest
from django.test import Client
from django.urls import get_resolver
from django.utils import timezone

from beats import urls_pages as beats_pages
from beats.models import AccessToken
from beats.services.tokens import make_token
from bookings import urls_pages as bookings_pages
from safety import urls_pages as safety_pages
from sessions import urls_pages as sessions_pages
from tests.browser.test_every_page import STILL, looked_at
from tests.config.world import build
from tests.factories import PoolFactory, RotaFactory, TurnFactory

NO_PAGE = {
    "language": "only takes a form", "worker": "a script", "manifest": "read by the browser", "home": "leads on",
    "house-takings-picture": "a picture", "house-season-picture": "a picture",
    "house-permit": "a paper", "my-contact": "leads on",
    "my-permit": "a paper", "my-let-permit": "a paper", "my-statement-paper": "a paper",
    "house-season-report": "a paper", "house-return-paper": "a paper",
    "day-fine": "only takes a form", "day-late": "only takes a form", "day-back": "only takes a form",
    "invitation-accept-page": "only takes a form", "invitation-decline-page": "only takes a form",
    "day-undo": "only takes a form", "water-outing-undo": "only takes a form",
    "offline-pages": "a list for the worker",
    "day-coming-out": "only takes a form", "sign-in-code": "needs a code asked for: test_the_guests_pages",
}  # fmt: skip
SHOWS = {
    "house-withdraw-token": "token", "house-let": "let", "house-confirm": "hold", "house-cancel": "let",
    "water-alarm": "alarm", "water-alarm-close": "alarm", "water-outing": "outing",
    "water-outing-off": "outing", "water-outing-more": "outing",
    "water-fish-correct": "catch", "water-fish-strike": "catch",
    "water-recall-end": "recall", "water-rota-week": "rota", "water-rota-sheet": "rota",
    "water-rota-swap": "rota", "house-withdraw-key": "board_key", "house-entry": "let", "house-party": "let",
    "house-hand-on": "let", "house-split": "let", "house-change": "let", "house-end-price": "price",
    "my-let": "let", "my-let-confirm": "hold", "my-let-cancel": "let", "my-let-party": "let",
    "my-phone-off": "push_address", "house-let-waiting": "let", "house-leave-waiting": "waiting",
    "house-reopen-beat": "beat_closure", "water-reading": "reading", "guest-contact": "guest",
    "water-undelivered-correct": "undelivered", "water-undelivered-acknowledge": "undelivered",
}  # fmt: skip
GUESTS = ("day", "my-", "check-in", "kept", "sign-")
A_SHEET = {"water-rota-sheet"}
"""Paper made by another hand than the pages: a white sheet, which thumbs do not touch."""


def page_names():
    parts = (beats_pages, bookings_pages, sessions_pages, safety_pages)
    return [pattern.name for part in parts for pattern in part.urlpatterns]


def addresses(world):
    """(name, path) of every page."""
    fishery, beat = world.rows["fishery"], world.rows["beat"]
    known = {
        "fishery": fishery.slug, "beat": beat.slug, "guest": world.rows["guest"].pk,
        "year": timezone.now().year, "season": timezone.now().year,
        "code": "flagged", "month": 0,
    }  # fmt: skip
    for name in page_names():
        if name not in NO_PAGE:
            needs = get_resolver().reverse_dict.getlist(name)[0][0][0][1]
            facts = {one: known[one] if one in known else world.rows[SHOWS[name]].pk for one in needs}
            yield name, get_resolver().reverse(name, **facts)


def test_every_address_is_looked_at_or_said_to_be_no_page():
    named = {*NO_PAGE, *SHOWS}
    for name in page_names():
        needs = get_resolver().reverse_dict.getlist(name)[0][0][0][1]
        assert "pk" not in needs or name in named, f"{name}: say in SHOWS which row it shows"
    assert len(page_names()) > 40


@pytest.fixture
def world(emptied_ledger):
    """One of everything, and a rota of today."""
    made = build()
    today = timezone.now().date()
    rota = RotaFactory(
        beat=made.rows["beat"], first_on=today - dt.timedelta(days=today.weekday()), status="published",
    )  # fmt: skip
    TurnFactory(
        rota=rota, rod=1, day=today, pool=made.rows["pool"], part=made.rows["part"], guest=made.rows["guest"]
    )
    TurnFactory(rota=rota, rod=2, day=today, pool=PoolFactory(beat=made.rows["beat"]), part=made.rows["part"])
    made.rows["rota"] = rota
    owner, fishery = made.people["owner"], made.rows["fishery"]
    make_token(fishery, label="Office", days=30, by=owner, now=timezone.now())
    made.rows["token"] = AccessToken.objects.get(user=owner, label="Office")
    return made


def let_in(page, user, live_server):
    """Signed in without the letter."""
    client = Client()
    client.force_login(user)
    page.context.add_cookies(
        [{"name": "sessionid", "value": client.cookies["sessionid"].value, "url": live_server.url}]
    )


@pytest.mark.browser
@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("who", ["guest", "owner", "ghillie"])
def test_every_page(screen, world, live_server, who):
    let_in(screen, world.people[who], live_server)
    faults = []
    for name, path in addresses(world):
        guests = name.startswith(GUESTS)
        if guests != (who == "guest") or (who == "ghillie" and name.startswith("house")):
            continue
        try:
            one_page(screen, who, name, path)
        except AssertionError as fault:
            faults.append(str(fault))
    assert not faults, "\n\n".join(faults)


def one_page(screen, who, name, path):
    answer = screen.goto(path)
    assert answer.status == 200, f"{name}: {answer.status} {path}"
    assert screen.evaluate(STILL) < 0.001, f"{name} moves while it loads"
    for scheme in ("light", "dark"):
        screen.emulate_media(color_scheme=scheme)
        looked_at(screen, f"{who}-{name}-{scheme}", paper=name in A_SHEET)
