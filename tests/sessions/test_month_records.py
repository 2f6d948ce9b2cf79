"""A month without fish: no record, no fishing, or fished and none caught. What is stated, and what is signed.

Topic Sheet 103 (Marine Scotland, December 2018): a month without salmon fishing is a 0 that is stated.
Nil and data returns are counted apart ("annual return forms", marine.gov.scot, 2019 season).
"""

import csv
import datetime as dt
import io
from decimal import Decimal

import pytest
from django.urls import reverse
from openpyxl import load_workbook
from pypdf import PdfReader

from sessions.models import MonthStatement, Return
from tests.factories import BeatFactory, CatchFactory, OutingFactory, RodDayFactory, client_of, guest_with_account
from tests.pages import Page
from tests.sessions.season_records import SIGNER, stated

pytestmark = pytest.mark.django_db
JULY = dt.datetime(2025, 7, 9, 11, tzinfo=dt.UTC)
SEASON = range(2, 11)  # Wester Ross: 11 February to 31 October (SSI 2014/327, Schedule, entry 51)


@pytest.fixture
def beat():
    return BeatFactory(fishery__slug="upper-water", fishery__name="Upper Water", rods=4)


@pytest.fixture
def client(owner):
    return client_of(owner)


@pytest.fixture
def browser(client, owner):
    from django.test import Client  # noqa: PLC0415

    made = Client()
    made.force_login(owner)
    return made


def path(rest="", season=2025):
    return f"/api/v1/fisheries/upper-water/returns/{season}/{rest}"


def state(client, month, record, season=2025):
    return client.post(path("months/", season), {"month": month, "record": record}, format="json")


def sign(client, season=2025, **more):
    body = {"content_hash": client.get(path(season=season)).json()["content_hash"]} | SIGNER | more
    return client.post(path("signed/", season), body, format="json")


def months_of(client, season=2025):
    return {month["month"]: month for month in client.get(path(season=season)).json()["months"]}


def words_of(answer):
    pages = PdfReader(io.BytesIO(answer.content)).pages
    return " ".join("".join(page.extract_text() for page in pages).split())


def typed(answer):
    """What the form of a page with a key would send."""
    forms = Page(answer.content.decode()).forms
    return dict(next(form for form in forms if any(each.name == "key" for each in form.fields)).typed())


def rows_of(client):
    return list(csv.DictReader(io.StringIO(client.get(path("?format=csv")).content.decode())))


def test_a_season_nobody_recorded_is_no_record_and_never_nought(client, beat):
    body = client.get(path()).json()
    assert (body["state"], body["record"], body["rod_days"], body["totals"]) == (
        "no_record",
        "no_record",
        None,
        None,
    )
    assert {(month["record"], month["rod_days"], month["catch"]) for month in body["months"]} == {
        ("no_record", None, None)
    }
    assert [one["month"] for one in body["findings"] if one["code"] == "no-record"] == list(SEASON)
    for row in rows_of(client):
        assert row["Record"] == "no record"
        assert {row[name] for name in row if name.endswith(("number", "weight (kg)", "weighed", "days"))} - {
            row["Month number"]
        } == {""}
    sheet = load_workbook(io.BytesIO(client.get(path("?format=xlsx")).content))["Return"]
    rows = list(sheet.iter_rows(values_only=True))
    assert {cell for row in rows[1:] for cell in row[5:-1]} == {None}
    text = words_of(client.get(path("?format=pdf")))
    assert "June: no record" in text
    assert "0.00" not in text
    assert "nil return" not in text


def test_the_page_says_no_record_and_does_not_call_it_nil(browser, beat):
    page = browser.get(reverse("house-return", args=["upper-water", 2025])).content.decode()
    assert "no record" in page
    assert "A nil return" not in page
    assert '<td class="num">0' not in page


def test_an_unrecorded_season_is_not_signed(client, beat):
    answer = sign(client)
    assert (answer.status_code, answer.json()["type"]) == (409, "/api/v1/problems/season-not-recorded")
    assert "June" in answer.json()["detail"]
    assert Return.objects.count() == 0


def test_a_season_to_come_is_never_signed_nor_stated(client, beat):
    far = dt.datetime.now(dt.UTC).year + 1
    assert state(client, 6, "no_fishing", far).status_code == 409
    stated(beat, far, SEASON)
    answer = sign(client, far)
    assert (answer.status_code, answer.json()["type"]) == (409, "/api/v1/problems/season-not-recorded")
    assert "has not begun" in answer.json()["detail"]


def test_three_states_each_stated_and_shown(client, beat):
    stated(beat, 2025, set(SEASON) - {6, 7})
    assert state(client, 6, "none_caught").status_code == 201
    assert state(client, 7, "no_fishing").status_code == 201
    found = months_of(client)
    assert [found[month]["record"] for month in (6, 7)] == ["none_caught", "no_fishing"]
    assert (found[6]["rod_days"], found[7]["rod_days"]) == (None, 0)
    assert found[6]["catch"]["released"]["msw"] == {"number": 0, "weight_kg": "0.00", "unweighed": 0}
    assert {row["Record"] for row in rows_of(client) if row["Month"] in {"June", "July"}} == {
        "fished, none caught", "no fishing",
    }  # fmt: skip
    text = words_of(client.get(path("?format=pdf")))
    assert "June: none caught" in text
    assert "July: no fishing" in text
    assert sign(client).status_code == 201


def test_nil_is_a_season_in_which_nobody_fished_in_any_month(client, beat):
    stated(beat, 2025, SEASON)
    body = client.get(path()).json()
    assert (body["state"], body["record"], body["rod_days"]) == ("nil", "no_fishing", 0)
    assert sign(client).json()["state"] == "nil"


@pytest.mark.parametrize("what", ["an outing", "a fish", "a kelt", "a rod let"])
def test_no_fishing_against_the_record_is_refused_with_what_to_do(client, beat, what):
    if what == "an outing":
        OutingFactory(beat=beat, checked_in_at=JULY, due_back_at=JULY + dt.timedelta(hours=3))
    elif what == "a rod let":
        RodDayFactory(let__beat=beat, day=JULY.date())
    else:
        CatchFactory(beat=beat, caught_at=JULY, kind="kelt" if what == "a kelt" else "msw")
    answer = state(client, 7, "no_fishing")
    assert (answer.status_code, answer.json()["type"]) == (409, "/api/v1/problems/contradicts-record")
    assert "July" in answer.json()["detail"]
    assert MonthStatement.objects.count() == 0


def test_none_caught_against_a_fish_is_refused(client, beat):
    CatchFactory(beat=beat, caught_at=JULY)
    assert state(client, 7, "none_caught").status_code == 409


def test_a_statement_that_the_record_contradicts_later_no_longer_holds(client, beat):
    stated(beat, 2025, SEASON)
    OutingFactory(beat=beat, checked_in_at=JULY, due_back_at=JULY + dt.timedelta(hours=3))
    found = months_of(client)[7]
    assert (found["record"], found["fished"], found["rod_days"]) == ("no_record", True, None)
    assert sign(client).status_code == 409


def test_a_statement_is_taken_back(client, beat):
    for record in ("no_fishing", "no_record"):
        assert state(client, 6, record).status_code == 201
    assert months_of(client)[6]["record"] == "no_record"


def test_a_month_of_the_close_time_is_no_month_of_the_season(client, beat):
    answer = state(client, 12, "no_fishing")
    assert (answer.status_code, list(answer.json()["errors"])) == (400, ["month"])


def test_only_the_owner_states_a_month(client, beat):
    ghillie = client_of(guest_with_account(beat.fishery).user)
    assert state(ghillie, 6, "no_fishing").status_code == 403


def test_unknown_weight_is_never_nought(client, beat):
    CatchFactory(beat=beat, caught_at=JULY, kind="msw", weight_kg=None)
    for weight in (None, Decimal("2.10"), Decimal("2.25")):
        CatchFactory(beat=beat, caught_at=JULY, kind="1sw", weight_kg=weight)
    july = months_of(client)[7]["catch"]["released"]
    assert july["msw"] == {"number": 1, "weight_kg": None, "unweighed": 1}
    assert july["1sw"] == {"number": 3, "weight_kg": "4.35", "unweighed": 1}
    row = next(row for row in rows_of(client) if (row["Month"], row["Method"]) == ("July", "Rod: Released"))
    assert (row["Wild MSW weight (kg)"], row["Wild MSW not weighed"]) == ("", "1")
    assert (row["Wild 1SW weight (kg)"], row["Wild 1SW not weighed"]) == ("4.35", "1")
    sheet = load_workbook(io.BytesIO(client.get(path("?format=xlsx")).content))["Return"]
    head, *rows = sheet.iter_rows(values_only=True)
    july = next(dict(zip(head, row, strict=True)) for row in rows if row[1:4] == ("Rod: Released", 2025, "July"))
    assert (july["Wild MSW weight (kg)"], july["Wild MSW not weighed"]) == (None, 1)
    text = words_of(client.get(path("?format=pdf")))
    assert "July 1 not weighed 3 4.35*" in text
    assert "July, Wild 1SW: 4.35 kg is the weight of 2 of 3 fish" in text


def test_the_page_says_what_was_not_weighed(browser, beat):
    CatchFactory(beat=beat, caught_at=JULY, kind="msw", weight_kg=None)
    for weight in (None, Decimal("2.10")):
        CatchFactory(beat=beat, caught_at=JULY, kind="1sw", weight_kg=weight)
    page = browser.get(reverse("house-return", args=["upper-water", 2025])).content.decode()
    assert "not weighed" in page
    assert "2.10 kg, 1 of 2 weighed" in page


def test_other_sums_of_unknown_weights_are_unknown_too(client, beat):
    guest = guest_with_account(beat.fishery)
    CatchFactory(beat=beat, caught_at=JULY, guest=guest, weight_kg=None)
    (total,) = client.get("/api/v1/catches/totals/").json()
    assert (total["number"], total["weight_kg"], total["unweighed"]) == (1, None, 1)
    (mine,) = client.get(f"/api/v1/guests/{guest.pk}/record/2025/").json()["totals"]
    assert (mine["weight_kg"], mine["unweighed"]) == (None, 1)
    report = client.get("/api/v1/fisheries/upper-water/season-report/2025/")
    assert "July 1 not weighed" in words_of(report)


@pytest.mark.parametrize("missing", ["signer_name", "signer_capacity", "signer_address", "declared"])
def test_nothing_is_signed_without_who_in_which_capacity_where_and_the_declaration(client, beat, missing):
    stated(beat, 2025, SEASON)
    answer = sign(client, **{missing: False if missing == "declared" else ""})
    assert (answer.status_code, list(answer.json()["errors"])) == (400, [missing])
    assert Return.objects.count() == 0


def test_the_signed_paper_names_the_signer_capacity_address_and_declaration(client, beat):
    stated(beat, 2025, SEASON)
    body = sign(client).json()
    assert body["signer"] == {"name": "Aster Finch", "capacity": "agent", "address": "Estate Office\nMoor Burn"}
    assert "section 64" in body["declaration"]
    text = words_of(client.get(path("signed/1/?format=pdf")))
    for said in (
        "Aster Finch",
        "Capacity: Agent",
        "Estate Office",
        "Moor Burn",
        "I declare",
        "official return form",
    ):
        assert said in text
    book = load_workbook(io.BytesIO(client.get(path("signed/1/?format=xlsx")).content))
    told = {row[0]: row[1] for row in book["Signature"].iter_rows(values_only=True)}
    assert (told["Signed by"], told["Capacity"], told["Address"]) == (
        "Aster Finch", "Agent", "Estate Office\nMoor Burn",
    )  # fmt: skip
    assert told["Declaration"] == body["declaration"]


def test_the_owner_states_months_and_signs_on_the_page(browser, client, beat):
    page = browser.get(reverse("house-return", args=["upper-water", 2025])).content.decode()
    place = reverse("house-return-months", args=["upper-water", 2025])
    assert place in Page(page).links
    form = typed(browser.get(place))
    form |= {f"month_{month}": "no_fishing" for month in SEASON} | {"month_6": "none_caught"}
    assert [browser.post(place, form).status_code for _ in range(2)] == [303, 303]
    assert [months_of(client)[month]["record"] for month in (6, 7)] == ["none_caught", "no_fishing"]
    assert MonthStatement.objects.count() == len(SEASON)
    signing = reverse("house-return", args=["upper-water", 2025])
    form = typed(browser.get(signing)) | {"reason": ""}
    bare = browser.post(signing, form)
    assert (bare.status_code, Return.objects.count()) == (422, 0)
    assert browser.post(signing, form | SIGNER | {"declared": "on"}).status_code == 303
    signed = Return.objects.get()
    assert (signed.signer_name, signed.signer_capacity) == ("Aster Finch", "agent")
    assert "Aster Finch" in browser.get(signing).content.decode()
