"""Every page, what its address names, and who gets in: the one table of the tests that open them all."""

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from beats.models import AccessToken
from beats.services.tokens import make_token
from tests.config.world import build
from tests.factories import FisheryFactory, keeper

PEOPLE = ("anonymous", "guest", "other", "ghillie", "owner", "ghillie elsewhere", "owner elsewhere")
ALL = (200, 200, 200, 200, 200, 200, 200)
SIGNED_IN = (303, 200, 200, 200, 200, 200, 200)
ONWARD = (303, 303, 303, 303, 303, 303, 303)
ONWARD_FROM_CONTACT = (303, 303, 303, 200, 200, 200, 200)
"""A guest of one fishery is led on to their form there; others choose, or are told to ask."""
AS_BEFORE = (302, 302, 302, 302, 302, 302, 302)
KEEPERS = (303, 403, 403, 200, 200, 404, 404)
OWNER = (303, 403, 403, 403, 200, 404, 404)
THEIR_OWN = (303, 200, 404, 404, 404, 404, 404)
THEIR_WORD = (303, 303, 404, 404, 404, 404, 404)
THEIR_INVITATION = (303, 422, 404, 404, 404, 404, 404)  # in this world it is accepted already
KEEPERS_WORD = (303, 403, 403, 303, 303, 404, 404)
DAY_OR_OFF = (303, 303, 404, 404, 404, 404, 404)  # on the water in this world: their day is shown

AT = {"fishery": "slug"}
LET, TOKEN, KEY, PRICE = ({**AT, "pk": kind} for kind in ("let", "token", "board_key", "price"))
WAITING, CLOSING = ({**AT, "pk": kind} for kind in ("waiting", "beat_closure"))
HOLD, ROTA, ALARM, RECALL = ({**AT, "pk": kind} for kind in ("hold", "rota", "alarm", "recall"))
READING = {**AT, "pk": "reading"}
OUTING, CATCH = ({**AT, "pk": kind} for kind in ("outing", "catch"))
UNDELIVERED = {**AT, "pk": "undelivered"}
BEAT, YEAR, SEASON = {**AT, "beat": "beat_slug"}, {**AT, "year": "year"}, {**AT, "season": "year"}
PICTURE = {**YEAR, "species": "species", "of": "of"}
MINE = {"guest": "guest"}
GUEST = {**AT, "pk": "guest"}

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
    ("invitation-accept-page", {"pk": "guest"}, THEIR_WORD),
    ("invitation-decline-page", {"pk": "guest"}, THEIR_INVITATION),
    ("my-lets", {}, SIGNED_IN),
    ("my-let", {"pk": "let"}, THEIR_OWN),
    ("my-let-confirm", {"pk": "hold"}, THEIR_OWN),
    ("my-let-cancel", {"pk": "let"}, THEIR_OWN),
    ("my-let-party", {"pk": "let"}, THEIR_OWN),
    ("my-let-permit", {"pk": "let"}, THEIR_OWN),
    ("my-statement", MINE, THEIR_OWN),
    ("my-statement-paper", MINE, THEIR_OWN),
    ("day-fish", MINE, THEIR_OWN),
    ("day-help", MINE, THEIR_OWN),
    ("my-contact", {}, ONWARD_FROM_CONTACT),
    ("day-contact", MINE, THEIR_OWN),
    ("day-meeting", MINE, THEIR_OWN),
    ("day-fine", MINE, THEIR_WORD),
    ("day-late", MINE, THEIR_WORD),
    ("day-back", MINE, THEIR_WORD),
    ("day-off", MINE, DAY_OR_OFF),
    ("day-undo", {"outing": "outing"}, THEIR_WORD),
    ("day-coming-out", {"call": "call"}, THEIR_WORD),
    ("offline-pages", {}, SIGNED_IN),
    ("no-signal", {}, ALL),
    ("my-phones", {}, SIGNED_IN),
    ("my-phone-off", {"pk": "push_address"}, THEIR_OWN),
    ("water", AT, KEEPERS),
    ("water-alarm", ALARM, KEEPERS),
    ("water-alarm-close", ALARM, KEEPERS),
    ("guests", AT, KEEPERS),
    ("guest-contact", GUEST, KEEPERS),
    ("water-check-in", AT, KEEPERS),
    ("water-outing", OUTING, KEEPERS),
    ("water-outing-off", OUTING, KEEPERS),
    ("water-outing-more", OUTING, KEEPERS),
    ("water-outing-undo", OUTING, KEEPERS_WORD),
    ("water-fish", AT, KEEPERS),
    ("water-fish-correct", CATCH, KEEPERS),
    ("water-fish-strike", CATCH, KEEPERS),
    ("water-level", AT, KEEPERS),
    ("water-reading", READING, KEEPERS),
    ("water-poster", BEAT, KEEPERS),
    ("water-recall", AT, KEEPERS),
    ("water-recall-end", RECALL, KEEPERS),
    ("water-river-up", AT, KEEPERS),
    ("water-undelivered", AT, KEEPERS),
    ("water-undelivered-acknowledge", UNDELIVERED, KEEPERS),
    ("water-undelivered-correct", UNDELIVERED, KEEPERS),
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
    ("house-return-months", SEASON, OWNER),
    ("house-return-paper", SEASON, OWNER),
    ("house-return-question", {**SEASON, "code": "code", "month": "month"}, OWNER),
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
OF_OBJECTS = [
    row for row in ROWS if set(row.values[1].values()) - {"slug", "year", "species", "of", "code", "month"}
]
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
            "code": "flagged", "month": 0,
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
    return page in {
        "day-fine", "day-late", "day-back", "day-coming-out", "day-undo", "water-outing-undo", "language",
        "invitation-accept-page", "invitation-decline-page",
    }  # fmt: skip
