"""Signing a season: what was read is what is frozen, and an amendment shows its difference."""

import datetime as dt
import io
from decimal import Decimal
from smtplib import SMTPRecipientsRefused

import pytest
from django.core import mail
from openpyxl import load_workbook
from pypdf import PdfReader

from beats.models import AuditEntry
from sessions.models import BoardKey, Catch, Return, ReturnDue
from sessions.services.catches import strike_out
from sessions.services.reminders import remind
from sessions.snapshot import content_hash
from tests.factories import (
    BeatFactory,
    CatchFactory,
    FisheryFactory,
    ReturnDueFactory,
    RodDayFactory,
    client_of,
    guest_with_account,
    keeper,
)
from tests.sessions.season_records import SIGNER, stated

pytestmark = pytest.mark.django_db

MINUTE = dt.timedelta(minutes=1)
JULY = dt.datetime(2025, 7, 9, 11, tzinfo=dt.UTC)
NEW_YEAR = dt.datetime(2026, 1, 2, 12, tzinfo=dt.UTC)
KEY = {"headers": {"Idempotency-Key": "sign-of-an-owner"}}


@pytest.fixture
def beat():
    beat = BeatFactory(fishery__slug="upper-water", fishery__name="=Upper Water")
    for weight in ("2.10", "2.25"):
        CatchFactory(beat=beat, caught_at=JULY, kind="1sw", weight_kg=Decimal(weight))
    RodDayFactory(let__beat=beat, day=JULY.date())
    stated(beat, 2025, set(range(2, 11)) - {7})
    return beat


@pytest.fixture
def client(owner):
    return client_of(owner)


def path(rest=""):
    return f"/api/v1/fisheries/upper-water/returns/2025/{rest}"


def sign(client, **more):
    body = {"content_hash": client.get(path()).json()["content_hash"]} | SIGNER | more
    return client.post(path("signed/"), body, format="json")


def test_a_season_is_none_then_data_once_signed(client, beat):
    assert [client.get(path()).json()[name] for name in ("returned", "signed_version")] == ["none", None]
    response = sign(client)
    assert (response.status_code, response.json()["version"], response.json()["state"]) == (201, 1, "data")
    assert [client.get(path()).json()[name] for name in ("returned", "signed_version")] == ["data", 1]


def test_a_season_without_fish_or_fishing_is_signed_nil(client, beat):
    Catch.objects.all().delete()
    beat.rod_days.all().delete()
    stated(beat, 2025, [7])
    assert (sign(client).json()["state"], client.get(path()).json()["returned"]) == ("nil", "nil")


def test_what_is_signed_is_frozen_and_its_hash_can_be_checked(client, beat):
    sign(client)
    CatchFactory(beat=beat, caught_at=JULY)
    signed = client.get(path("signed/1/")).json()
    assert signed["snapshot"]["totals"]["released"]["1sw"] == {"number": 2, "weight_kg": "4.35", "unweighed": 0}
    assert signed["content_hash"] == content_hash(Return.objects.get().snapshot)


def test_every_figure_can_be_followed_to_its_fish(client, beat):
    CatchFactory(beat=beat, caught_at=JULY, kind="kelt")
    CatchFactory()
    sign(client)
    counted = Catch.objects.filter(beat=beat, kind="1sw").order_by("id").values_list("id", "version")
    assert Return.objects.get().fish == [list(pair) for pair in counted]


def test_figures_that_changed_since_they_were_read_are_not_signed(client, beat):
    read = client.get(path()).json()["content_hash"]
    CatchFactory(beat=beat, caught_at=JULY)
    response = client.post(path("signed/"), {"content_hash": read} | SIGNER, format="json")
    assert (response.status_code, response.json()["type"]) == (409, "/api/v1/problems/book-changed")
    assert Return.objects.count() == 0


def test_an_amendment_is_a_new_version_with_a_reason_and_its_difference(client, beat):
    sign(client)
    CatchFactory(beat=beat, caught_at=JULY, kind="1sw", weight_kg=Decimal("2.50"))
    assert sign(client).json()["errors"] == {"reason": ["Say why it is amended."]}
    amended = sign(client, reason="A late card.").json()
    assert (amended["version"], amended["reason"]) == (2, "A late card.")
    assert amended["differences"] == [
        {"month": 7, "what": "1sw released number", "before": "2", "after": "3"},
        {"month": 7, "what": "1sw released weight_kg", "before": "4.35", "after": "6.85"},
    ]
    assert [row["version"] for row in client.get(path("signed/")).json()] == [2, 1]


def test_the_difference_shows_before_anybody_signs(client, beat):
    sign(client)
    CatchFactory(beat=beat, caught_at=JULY, kind="1sw", weight_kg=None)
    told = [(one["what"], one["before"], one["after"]) for one in client.get(path()).json()["differences"]]
    assert told == [("1sw released number", "2", "3"), ("1sw released unweighed", "0", "1")]


def test_the_same_figures_are_not_signed_twice_but_a_retry_is_answered(client, beat):
    body = {"content_hash": client.get(path()).json()["content_hash"]} | SIGNER
    sent = [client.post(path("signed/"), body, format="json", **KEY) for _ in range(2)]
    assert [response.status_code for response in sent] == [201, 200]
    again = client.post(path("signed/"), body, format="json")
    assert (again.status_code, again.json()["type"]) == (409, "/api/v1/problems/nothing-new")
    assert AuditEntry.objects.filter(verb="sign return").count() == Return.objects.count() == 1


def test_after_signing_only_the_owner_touches_the_season_s_fish(client, beat, owner):
    guest = guest_with_account(beat.fishery)
    fish = CatchFactory(beat=beat, caught_at=JULY, guest=guest)
    sign(client)
    body, asked = {"reason": "twice"}, f"/api/v1/catches/{fish.pk}/strike-out/"
    assert client_of(guest.user).post(asked, body, format="json").status_code == 403
    assert client_of(keeper(beat.fishery, "ghillie")).post(asked, body, format="json").status_code == 403
    assert strike_out(fish, reason="twice", by=owner, now=NEW_YEAR).struck_out_at == NEW_YEAR


def test_the_spreadsheet_holds_the_table_as_numbers_and_no_formula(client, beat):
    response = client.get(path("?format=xlsx"))
    assert response["Content-Disposition"] == 'attachment; filename="return-upper-water-2025.xlsx"'
    sheet = load_workbook(io.BytesIO(response.content))["Return"]
    rows = list(sheet.iter_rows(values_only=True))
    july = next(row for row in rows if row[1:4] == ("Rod: Released", 2025, "July"))
    assert july[:9] == ("'=Upper Water", "Rod: Released", 2025, "July", 7, 0, 0, 2, 4.35)
    assert {cell.data_type for row in sheet.iter_rows() for cell in row} == {"s", "n"}


def test_the_signed_paper_says_who_signed_what_and_stays_the_same(client, beat):
    sign(client)
    first = client.get(path("signed/1/?format=pdf")).content
    CatchFactory(beat=beat, caught_at=JULY)
    assert client.get(path("signed/1/?format=pdf")).content == first
    text = "".join(page.extract_text() for page in PdfReader(io.BytesIO(first)).pages)
    assert "version 1" in text
    assert "July 0 0.00 2 4.35 0 0.00 0 0.00 0 0.00 0 0.00 1" in text.replace("\n", " ")


def test_an_unsigned_paper_says_so(client, beat):
    text = PdfReader(io.BytesIO(client.get(path("?format=pdf")).content)).pages[0].extract_text()
    assert "Not signed: the book as it stands." in text


def test_the_review_list_names_what_the_officials_would_query(client, beat):
    CatchFactory(beat=beat, caught_at=JULY.replace(month=5, day=7), weight_kg=None)
    CatchFactory(
        beat=beat, caught_at=JULY.replace(day=6), kind="finnock", weight_kg=Decimal("9.07"), flag="Sunday"
    )
    CatchFactory(beat=beat, caught_at=JULY.replace(month=12))
    found = client.get(path()).json()["findings"]
    told = [(one["code"], one["month"]) for one in found]
    assert told == [
        ("no-effort", 5), ("no-weight", 5), ("mean-weight", 7), ("no-effort", 12), ("doubtful-size", 7),
        ("out-of-season", None), ("flagged", None),
    ]  # fmt: skip
    assert "a mean of 9.07 kg is outside 0.05 to 0.80 kg" in found[2]["sentence"]
    assert found[5]["sentence"] == "2 fish are dated outside the season or on a Sunday."


def due(client, **more):
    return client.post(path("due/"), {"due_on": "2025-12-31", "remind_days": 14} | more, format="json")


def test_the_due_date_is_the_owner_s_setting(client, beat):
    assert client.get(path("due/")).status_code == 404
    assert due(client, anglers_due_on="2025-11-30").status_code == 200
    assert client.get(path("due/")).json()["anglers_due_on"] == "2025-11-30"
    assert due(client, due_on="someday").json()["errors"].keys() == {"due_on"}


@pytest.mark.parametrize(("day", "sent"), [(16, 0), (17, 1), (31, 1)])
def test_the_owner_is_reminded_from_so_many_days_before_and_once(client, owner, beat, day, sent):
    due(client)
    now = dt.datetime(2025, 12, day, 9, tzinfo=dt.UTC)
    assert [remind(now=now), remind(now=now)] == [sent, 0]
    assert [letter.to for letter in mail.outbox] == [[owner.email]] * sent


def test_a_signed_return_is_not_reminded_of(client, beat):
    due(client)
    sign(client)
    assert (remind(now=NEW_YEAR), mail.outbox) == (0, [])


def test_a_reminder_somebody_is_sending_is_left_alone_until_the_lease_is_over(client, beat):
    due(client)
    ReturnDue.objects.update(leased_until=NEW_YEAR)
    assert [remind(now=NEW_YEAR - dt.timedelta(seconds=1)), remind(now=NEW_YEAR)] == [0, 1]


def test_a_mailbox_that_refuses_hinders_no_other_reminder(client, owner, beat, monkeypatch):
    """Nor is its own return forgotten: it is tried again when the lease is over."""
    due(client)
    refuses, second = keeper(FisheryFactory(), "owner"), keeper(beat.fishery, "owner")
    ReturnDueFactory(fishery=refuses.memberships.get().fishery, season=2025, due_on=dt.date(2025, 12, 31))
    deliver = type(mail.get_connection()).send_messages

    def send_messages(backend, letters):
        if {refuses.email, second.email} & {address for letter in letters for address in letter.to}:
            raise SMTPRecipientsRefused({refuses.email: (550, b"mailbox unavailable")})
        return deliver(backend, letters)

    monkeypatch.setattr(type(mail.get_connection()), "send_messages", send_messages)
    assert remind(now=NEW_YEAR) == 1
    assert [letter.to for letter in mail.outbox] == [[owner.email]]
    monkeypatch.undo()
    assert [remind(now=NEW_YEAR + minutes * MINUTE) for minutes in (9, 10)] == [0, 1]
    assert [letter.to for letter in mail.outbox] == [[owner.email], [refuses.email]]


def test_a_return_whose_fishery_has_no_owner_to_write_to_stays_due(beat):
    nobody = ReturnDueFactory(season=2025, due_on=dt.date(2025, 12, 31))
    assert (remind(now=NEW_YEAR), mail.outbox) == (0, [])
    nobody.refresh_from_db()
    assert nobody.reminded_at is None


@pytest.fixture
def board(client, beat):
    made = client.post("/api/v1/fisheries/upper-water/board-keys/", {"label": "board"}, format="json").json()
    machine = client_of(None)
    machine.credentials(HTTP_AUTHORIZATION=f"Bearer {made['secret']}")
    return machine


def test_a_board_s_key_reads_signed_returns_of_its_water(client, board):
    sign(client)
    assert [row["version"] for row in board.get(path("signed/")).json()] == [1]
    assert board.get(path("signed/1/")).json()["snapshot"]["rod_days"] == 1
    assert board.get(path("signed/1/?format=csv")).status_code == 200


def test_a_board_s_key_reads_nothing_else(client, board):
    FisheryFactory(slug="other")
    asked = {path(): 401, "/api/v1/catches/": 401, "/api/v1/me/": 401, path("due/"): 401}
    asked |= {"/api/v1/fisheries/other/returns/2025/signed/": 404}
    assert {place: board.get(place).status_code for place in asked} == asked
    assert board.post(path("signed/"), {"content_hash": "0" * 64}, format="json").status_code == 403


@pytest.mark.parametrize("end", ["revoked", "expired"])
def test_a_board_s_key_that_is_over_opens_nothing(client, board, end):
    key = BoardKey.objects.get()
    if end == "revoked":
        assert client.delete(f"/api/v1/board-keys/{key.pk}/").status_code == 204
    else:
        BoardKey.objects.update(expires_at=NEW_YEAR)
    assert board.get(path("signed/")).status_code == 401


def test_a_board_s_secret_is_shown_once_and_kept_as_a_hash(client, beat):
    place = "/api/v1/fisheries/upper-water/board-keys/"
    made = [client.post(place, {"label": "board"}, format="json", **KEY).json() for _ in range(2)]
    assert (made[0]["id"], made[1]["secret"]) == (made[1]["id"], None)
    assert made[0]["secret"] not in str(BoardKey.objects.values_list().get())
    assert "secret" not in client.get(place).json()["results"][0]
