"""The owner's desk, the season's book and the return: what they show, what is signed, whom they turn away."""

import datetime as dt
import re
from decimal import Decimal

import pytest
from django.utils import timezone
from rest_framework.test import APIClient

from beats.models import AuditEntry
from sessions.models import BoardKey, Return
from tests.factories import (
    BoardKeyFactory,
    CatchFactory,
    LedgerEntryFactory,
    LetFactory,
    OfferFactory,
    PoolFactory,
    ReturnDueFactory,
    ReturnFactory,
    RodDayFactory,
)
from tests.pages import at
from tests.sessions.season_records import SIGNER, stated

pytestmark = pytest.mark.django_db
DAY = dt.timedelta(days=1)
SEASON = 2025
IN_MAY = dt.datetime(SEASON, 5, 6, 11, 0, tzinfo=dt.UTC)


def pages_of(beat):
    return [
        at("house", beat), at("house-season", beat, SEASON), at("house-season-report", beat, SEASON),
        at("house-season-picture", beat, SEASON, "salmon", "weeks"), at("house-return", beat, SEASON),
        at("house-return-paper", beat, SEASON), at("house-keys", beat), at("house-new-key", beat),
        at("house-withdraw-key", beat, BoardKeyFactory(fishery=beat.fishery).pk),
    ]  # fmt: skip


def signing(page, **other):
    """What the form of a page would send."""
    fields = re.findall(r'<input type="hidden" name="(key|content_hash|reason)"(?: value="([^"]*)")?', page)
    return dict(fields) | SIGNER | {"declared": "on"} | other


def test_opening_a_page_writes_nothing(house, beat):
    CatchFactory(beat=beat, caught_at=IN_MAY)
    for path in pages_of(beat):
        assert house.get(path).status_code == 200
    assert not Return.objects.exists()
    assert not AuditEntry.objects.exists()


def test_a_desk_with_nothing_on_it_says_so(house, beat):
    assert "Nothing waits for you" in house.get(at("house", beat)).content.decode()


def test_the_desk_shows_all_that_waits_for_the_owner(house, beat):
    now = timezone.now()
    OfferFactory(let=LetFactory(beat=beat, status="held", expires_at=now + DAY, booker__name="Aster Finch"))
    LetFactory(beat=beat, status="held", expires_at=now + DAY, booker__name="Briar Wells")
    LetFactory(beat=beat, status="held", expires_at=now - DAY, booker__name="Clover Hay")
    ReturnDueFactory(fishery=beat.fishery, season=SEASON)
    ReturnDueFactory(fishery=beat.fishery, season=2019)
    ReturnFactory(fishery=beat.fishery, season=2019)
    CatchFactory(beat=beat, caught_at=now, caught_on=now.date(), flag="It had to go back.")
    owing = LetFactory(beat=beat, made_at=now - 400 * DAY, first_on=now.date() - 9 * DAY, last_on=now.date())
    LedgerEntryFactory(guest=owing.booker, let=owing, kind="charge", amount=Decimal("90.00"))
    page = house.get(at("house", beat)).content.decode()
    assert "Aster Finch" in page
    assert "answer by" in page
    assert page.count("Aster Finch") == 1
    assert "Briar Wells" in page
    assert "Clover Hay" not in page
    assert f"Season {SEASON}: due" in page
    assert "Season 2019" not in page
    assert "It had to go back." in page
    assert "90.00 GBP" in page
    assert "Nothing waits" not in page


def test_the_book_of_a_season_gives_fish_effort_and_rates_with_their_limits(house, beat):
    pool = PoolFactory(beat=beat, name="Larch Stream")
    let = LetFactory(beat=beat, first_on=IN_MAY.date(), last_on=IN_MAY.date())
    RodDayFactory(let=let, day=IN_MAY.date())
    RodDayFactory(let=let, day=IN_MAY.date())
    CatchFactory(beat=beat, pool=pool, caught_at=IN_MAY, flag="It was caught on a worm.")
    page = house.get(at("house-season", beat, SEASON)).content.decode()
    assert "2 rod-days" in page
    assert "0.500 (chance alone:" in page
    assert "Few fish or few days" in page
    assert "Larch Stream" in page
    assert "It was caught on a worm." in page
    assert at("house-season-picture", beat, SEASON, "salmon", "weeks") in page


def test_pictures_and_papers_come_as_what_they_are(house, beat):
    CatchFactory(beat=beat, caught_at=IN_MAY)
    drawn = house.get(at("house-season-picture", beat, SEASON, "salmon", "pools"))
    assert (drawn["Content-Type"], b"<svg" in drawn.content) == ("image/svg+xml", True)
    assert "default-src 'none'" in drawn["Content-Security-Policy"]
    assert house.get(at("house-season-picture", beat, SEASON, "pike", "pools")).status_code == 404
    for name in ("house-season-report", "house-return-paper"):
        answer = house.get(at(name, beat, SEASON))
        assert answer.content.startswith(b"%PDF")
        assert "attachment" in answer["Content-Disposition"]


def test_a_season_before_there_were_any_is_refused_in_words(house, beat):
    answer = house.get(at("house-return", beat, 1999))
    assert (answer.status_code, "Give a year from 2015 on" in answer.content.decode()) == (400, True)


def test_the_figures_that_were_read_are_signed_once(house, beat, owner):
    stated(beat, SEASON, range(2, 11))
    CatchFactory(beat=beat, caught_at=IN_MAY)
    path = at("house-return", beat, SEASON)
    page = house.get(path).content.decode()
    assert "Not signed yet" in page
    form = signing(page)
    assert form["content_hash"] in page
    assert [house.post(path, form).status_code for _ in range(2)] == [303, 303]
    signed = Return.objects.get()
    assert (signed.version, signed.content_hash, signed.signed_by) == (1, form["content_hash"], owner)
    assert "the book says what was signed" in house.get(path).content.decode()


def test_nothing_is_signed_when_the_book_changed_after_it_was_read(house, beat):
    stated(beat, SEASON, range(2, 11))
    path = at("house-return", beat, SEASON)
    form = signing(house.get(path).content.decode())
    CatchFactory(beat=beat, caught_at=IN_MAY)
    answer = house.post(path, form)
    assert (answer.status_code, "The book changed since you read" in answer.content.decode()) == (422, True)
    assert not Return.objects.exists()
    again = signing(answer.content.decode())
    assert again["content_hash"] != form["content_hash"], "the form must offer the figures now shown"
    assert house.post(path, again).status_code == 303


def test_an_amendment_wants_a_reason_and_keeps_what_was_typed_and_shows_the_difference(house, beat):
    stated(beat, SEASON, range(2, 11), "none_caught")
    path = at("house-return", beat, SEASON)
    house.post(path, signing(house.get(path).content.decode()))
    CatchFactory(beat=beat, caught_at=IN_MAY)
    page = house.get(path).content.decode()
    assert "The book has changed since it was signed" in page
    assert "May, salmon (multi-sea-winter), Released, number: 0 → 1" in page
    answer = house.post(path, signing(page, reason=""))
    assert (answer.status_code, "Say why it is amended." in answer.content.decode()) == (422, True)
    stale = house.post(path, signing(page, reason="A fish came by post", content_hash="0" * 64))
    assert (stale.status_code, 'value="A fish came by post"' in stale.content.decode()) == (422, True)
    assert house.post(path, signing(page, reason="A fish came by post")).status_code == 303
    assert list(Return.objects.order_by("version").values_list("version", "reason")) == [
        (1, ""), (2, "A fish came by post"),
    ]  # fmt: skip
    assert "Version 2" in house.get(path).content.decode()


def test_a_key_of_a_district_board_is_shown_once_reads_the_signed_return_and_is_withdrawn(house, beat):
    ReturnFactory(fishery=beat.fishery, season=SEASON)
    form = {"key": "b1", "label": "Moor Burn board", "days": "365"}
    first, second = (house.post(at("house-new-key", beat), form) for _ in range(2))
    secret = re.search(r"<code>([^<]+)</code>", first.content.decode())[1]
    assert (second.status_code, BoardKey.objects.count()) == (303, 1)
    page = house.get(at("house-keys", beat)).content.decode()
    assert "Moor Burn board" in page
    assert secret not in page

    def read():
        path = f"/api/v1/fisheries/{beat.fishery.slug}/returns/{SEASON}/signed/"
        board = APIClient()
        board.credentials(HTTP_AUTHORIZATION=f"Bearer {secret}")
        return board.get(path).status_code

    assert read() == 200
    path = at("house-withdraw-key", beat, BoardKey.objects.get().pk)
    assert [house.post(path, {"key": "w"}).status_code for _ in range(2)] == [303, 303]
    assert read() == 401
    assert AuditEntry.objects.filter(verb="revoke board key").count() == 1
    assert "Moor Burn board" not in house.get(at("house-keys", beat)).content.decode()
