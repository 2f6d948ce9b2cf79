"""Every page against every part: who gets in, who is told whose it is, and what is simply not there.

A page that is in the URL map and not in the table fails; so does one in the table that is gone.
"""

from urllib.parse import unquote

import pytest
from django.test import Client
from django.urls import get_resolver, reverse
from django.utils import timezone

from beats.models import AccessToken, AuditEntry
from beats.services.tokens import make_token
from tests.config.world import build
from tests.factories import FisheryFactory, keeper

pytestmark = pytest.mark.django_db

PEOPLE = ("anonymous", "guest", "other", "ghillie", "owner", "ghillie elsewhere", "owner elsewhere")
ALL = (200, 200, 200, 200, 200, 200, 200)
SIGNED_IN = (303, 200, 200, 200, 200, 200, 200)
ONWARD = (303, 303, 303, 303, 303, 303, 303)
AS_BEFORE = (302, 302, 302, 302, 302, 302, 302)
KEEPERS = (303, 403, 403, 200, 200, 404, 404)
OWNER = (303, 403, 403, 403, 200, 404, 404)
THEIR_OWN = (303, 200, 404, 404, 404, 404, 404)
THEIR_WORD = (303, 303, 404, 404, 404, 404, 404)

AT = {"fishery": "slug"}
LET, TOKEN, KEY, PRICE = ({**AT, "pk": kind} for kind in ("let", "token", "board_key", "price"))
WAITING, CLOSING = ({**AT, "pk": kind} for kind in ("waiting", "beat_closure"))
HOLD, ROTA, ALARM, RECALL = ({**AT, "pk": kind} for kind in ("hold", "rota", "alarm", "recall"))
BEAT, YEAR, SEASON = {**AT, "beat": "beat_slug"}, {**AT, "year": "year"}, {**AT, "season": "year"}
PICTURE = {**YEAR, "species": "species", "of": "of"}
MINE = {"guest": "guest"}

# The page, what its address names of the world, and the status for each of PEOPLE in order.
TABLE = [
    ("home", {}, ONWARD),
    ("sign-in", {}, ALL),
    ("sign-in-code", {}, ONWARD),
    ("sign-out", {}, SIGNED_IN),
    ("sign-out-everywhere", {}, SIGNED_IN),
    ("language", {}, AS_BEFORE),
    ("kept", {}, SIGNED_IN),
    ("worker", {}, ALL),
    ("manifest", {}, ALL),
    ("check-in", BEAT, ALL),
    ("day", {}, SIGNED_IN),
    ("my-fish", {}, SIGNED_IN),
    ("my-papers", {}, SIGNED_IN),
    ("my-permit", {"pk": "let"}, THEIR_OWN),
    ("day-fish", MINE, THEIR_OWN),
    ("day-help", MINE, THEIR_OWN),
    ("day-fine", MINE, THEIR_WORD),
    ("day-late", MINE, THEIR_WORD),
    ("day-back", MINE, THEIR_WORD),
    ("day-coming-out", {"call": "call"}, THEIR_WORD),
    ("my-phones", {}, SIGNED_IN),
    ("my-phone-off", {"pk": "push_address"}, THEIR_OWN),
    ("water", AT, KEEPERS),
    ("water-alarm", ALARM, KEEPERS),
    ("water-fish", AT, KEEPERS),
    ("water-level", AT, KEEPERS),
    ("water-poster", BEAT, KEEPERS),
    ("water-recall", AT, KEEPERS),
    ("water-recall-end", RECALL, KEEPERS),
    ("water-river-up", AT, KEEPERS),
    ("water-rota", AT, KEEPERS),
    ("water-rota-plan", AT, KEEPERS),
    ("water-rota-sheet", ROTA, KEEPERS),
    ("water-rota-swap", ROTA, KEEPERS),
    ("water-rota-week", ROTA, KEEPERS),
    ("house", AT, OWNER),
    ("house-cancel", LET, OWNER),
    ("house-change", LET, OWNER),
    ("house-close-beat", AT, OWNER),
    ("house-closings", AT, OWNER),
    ("house-confirm", HOLD, OWNER),
    ("house-end-price", PRICE, OWNER),
    ("house-entry", LET, OWNER),
    ("house-hand-on", LET, OWNER),
    ("house-keys", AT, OWNER),
    ("house-join-waiting", AT, OWNER),
    ("house-leave-waiting", WAITING, OWNER),
    ("house-let", LET, OWNER),
    ("house-let-waiting", LET, OWNER),
    ("house-lets", AT, OWNER),
    ("house-letting-policy", AT, OWNER),
    ("house-new-guest", AT, OWNER),
    ("house-new-key", AT, OWNER),
    ("house-new-let", AT, OWNER),
    ("house-new-price", AT, OWNER),
    ("house-new-token", AT, OWNER),
    ("house-open-season", AT, OWNER),
    ("house-party", LET, OWNER),
    ("house-people", AT, OWNER),
    ("house-permit", LET, OWNER),
    ("house-policies", AT, OWNER),
    ("house-reopen-beat", CLOSING, OWNER),
    ("house-return", SEASON, OWNER),
    ("house-return-paper", SEASON, OWNER),
    ("house-rights", AT, OWNER),
    ("house-season", YEAR, OWNER),
    ("house-season-picture", PICTURE, OWNER),
    ("house-season-report", YEAR, OWNER),
    ("house-split", LET, OWNER),
    ("house-takings", AT, OWNER),
    ("house-takings-picture", AT, OWNER),
    ("house-tariff", AT, OWNER),
    ("house-terms", AT, OWNER),
    ("house-waiting", AT, OWNER),
    ("house-watch", BEAT, OWNER),
    ("house-withdraw-key", KEY, OWNER),
    ("house-withdraw-token", TOKEN, OWNER),
]
ROWS = [pytest.param(*row, id=row[0]) for row in TABLE]
OF_OBJECTS = [row for row in ROWS if set(row.values[1].values()) - {"slug", "year", "species", "of"}]
OF_A_WATER = [row for row in ROWS if "fishery" in row.values[1] and row.values[0] != "check-in"]
NOT_HERE = (303, 404, 404, 404, 404, 404, 404)


class Place:
    """A world with a name for whatever an address may hold."""

    def __init__(self):
        self.world = world = build()
        owner, now, fishery = world.people["owner"], timezone.now(), world.rows["fishery"]
        make_token(fishery, label="accounts", days=30, by=owner, now=now)
        outing = world.rows["outing"]
        self.names = world.ids() | {
            "beat_slug": world.rows["beat"].slug, "year": 2025, "species": "salmon", "of": "weeks",
            "call": world.rows["recall"].calls.get(outing=outing).pk,
            "token": AccessToken.objects.filter(user=owner).latest("pk").pk,
        }  # fmt: skip
        self.word = {"key": "k", "number": outing.deadline_number, "due_back_at": self.names["later"]}
        elsewhere = FisheryFactory()
        self.people = {name: world.people.get(name) for name in PEOPLE} | {
            "ghillie elsewhere": keeper(elsewhere, "ghillie"), "owner elsewhere": keeper(elsewhere),
        }  # fmt: skip

    def address(self, page, names, **other):
        """`other` names what is taken from elsewhere, by its part of the address."""
        return reverse(page, kwargs={part: self.names[kind] for part, kind in names.items()} | other)

    def client(self, who, **more):
        client = Client(**more)
        if self.people[who] is not None:
            client.force_login(self.people[who])
        return client

    def statuses(self, path, method):
        return tuple(getattr(self.client(who), method)(path, self.word).status_code for who in PEOPLE)


def is_a_word(page):
    """Pages that only take a POST."""
    return page in {"day-fine", "day-late", "day-back", "day-coming-out", "language"}


@pytest.mark.parametrize(("page", "names", "expected"), ROWS)
def test_each_part_gets_the_page_or_is_told_no(page, names, expected):
    place = Place()
    path = place.address(page, names)
    assert place.statuses(path, "post" if is_a_word(page) else "get") == expected
    if is_a_word(page):
        assert set(place.statuses(path, "get")) == {405}


LED = [row for row in ROWS if row.values[2][0] == 303 and row.values[2] != ONWARD and not is_a_word(row.values[0])]


@pytest.mark.parametrize(("page", "names", "expected"), LED)
def test_whoever_is_not_signed_in_is_led_to_sign_in_and_on_to_the_page(page, names, expected):
    del expected
    place = Place()
    path = place.address(page, names)
    led = place.client("anonymous").get(path)["Location"]
    assert unquote(led) == f"{reverse('sign-in')}?next={path}"


@pytest.mark.parametrize(
    ("page", "names", "expected"), [row for row in ROWS if row.values[2] not in (ALL, ONWARD, AS_BEFORE)]
)
def test_whoever_may_not_open_a_page_cannot_post_to_it_either(page, names, expected):
    place = Place()
    path, before = place.address(page, names), AuditEntry.objects.count()
    shut = [(who, status) for who, status in zip(PEOPLE, expected, strict=True) if status != 200]
    shut = [(who, status) for who, status in shut if not (is_a_word(page) and who == "guest")]
    for who, status in shut:
        assert place.client(who).post(path, place.word).status_code in {status, 405}, who
    assert AuditEntry.objects.count() == before


@pytest.mark.parametrize(("page", "names", "expected"), OF_OBJECTS)
def test_an_object_of_another_water_is_not_here(page, names, expected):
    """The water's own address with another water's let, beat, rota: nobody finds it who would find one's own."""
    place, foreign = Place(), Place()
    (part,) = [part for part, kind in names.items() if kind not in {"slug", "year", "species", "of"}]
    path = place.address(page, names, **{part: foreign.names[names[part]]})
    here = [404 if status == 200 or (status == 303 and who != "anonymous") else status
            for who, status in zip(PEOPLE, expected, strict=True)]  # fmt: skip
    assert place.statuses(path, "post" if is_a_word(page) else "get") == tuple(here)
    before = AuditEntry.objects.count()
    posted = zip(place.statuses(path, "post"), here, strict=True)
    assert [status for status, told in posted if status not in {told, 405}] == []
    assert AuditEntry.objects.count() == before


@pytest.mark.parametrize(("page", "names", "expected"), OF_A_WATER)
def test_another_water_is_nobodys_here(page, names, expected):
    place, foreign = Place(), Place()
    del expected
    assert place.statuses(foreign.address(page, names), "get") == NOT_HERE


def every_page():
    """Their names, out of the URL map: all that lies at the root but the API, the office and the health."""
    groups = [entry for entry in get_resolver().url_patterns if str(entry.pattern) == ""]
    return [page.name for group in groups for page in group.url_patterns]


def test_the_table_names_every_page():
    assert sorted(every_page()) == sorted(row[0] for row in TABLE)


@pytest.mark.parametrize("cookies", [False, True])
def test_a_mail_scanner_that_opens_every_page_and_posts_to_it_changes_nothing(cookies):
    """Without cookies it is nobody, whatever token a page held; with the owner's own it has no token."""
    place = Place()
    before = AuditEntry.objects.count()
    for page, names, _expected in TABLE:
        path = place.address(page, names)
        scanner = place.client("owner" if cookies else "anonymous", enforce_csrf_checks=True)
        scanner.get(path)
        if not cookies:
            scanner.cookies.clear()
        answer = scanner.post(path, place.word)
        assert answer.status_code in {403, 405}, page
    assert AuditEntry.objects.count() == before
