"""The return over the wire: JSON, and CSV in the words of the published tables."""

import csv
import datetime as dt
import io
from decimal import Decimal

import pytest

from tests.factories import BeatFactory, CatchFactory, RodDayFactory, client_of, keeper

pytestmark = pytest.mark.django_db

HEADER = [
    # The published rod and net tables: Marine Directorate, "Salmon and Sea Trout fishery statistics,
    # reported catch by district and method" (data.marine.gov.scot). "Rod days" is ours: they print
    # "Netting effort".
    "Method", "Year", "Month", "Month number",
    "Wild MSW number", "Wild MSW weight (kg)", "Wild 1SW number", "Wild 1SW weight (kg)",
    "Sea trout number", "Sea trout weight (kg)", "Finnock number", "Finnock weight (kg)",
    "Farmed MSW number", "Farmed MSW weight (kg)", "Farmed 1SW number", "Farmed 1SW weight (kg)",
]  # fmt: skip


@pytest.fixture
def beat():
    return BeatFactory(fishery__name="=HYPERLINK(1)", fishery__slug="upper-water")


@pytest.fixture
def owner(beat):
    return client_of(keeper(beat.fishery))


def fill(beat):
    """Two kept grilse of July 2025, and three rod-days."""
    at = dt.datetime(2025, 7, 8, 12, 0, tzinfo=dt.UTC)
    for weight in ("2.10", "2.25"):
        CatchFactory(beat=beat, caught_at=at, kind="1sw", fate="kept", weight_kg=Decimal(weight))
    for day in (7, 8, 9):
        RodDayFactory(let__beat=beat, day=dt.date(2025, 7, day))


def read(response):
    assert (response.status_code, response["Content-Type"]) == (200, "text/csv; charset=utf-8")
    return list(csv.reader(io.StringIO(response.content.decode())))


def test_the_header_is_in_the_words_of_the_published_tables(beat, owner):
    rows = read(owner.get("/api/v1/fisheries/upper-water/returns/2025/?format=csv"))
    classes = ["Wild MSW", "Wild 1SW", "Sea trout", "Finnock", "Farmed MSW", "Farmed 1SW"]
    assert rows[0] == ["Fishery", *HEADER, "Rod days", *(f"{name} not weighed" for name in classes), "Record"]
    assert {len(row) for row in rows} == {len(HEADER) + 9}


def test_there_is_a_line_for_each_month_and_method(beat, owner):
    fill(beat)
    rows = read(owner.get("/api/v1/fisheries/upper-water/returns/2025/", headers={"Accept": "text/csv"}))
    assert [(row[1], row[4]) for row in rows[1:]] == [
        (method, str(month)) for month in range(2, 11) for method in ("Rod: Retained", "Rod: Released")
    ]
    july = next(row for row in rows if row[1:4] == ["Rod: Retained", "2025", "July"])
    assert july[5:] == ["0", "0.00", "2", "4.35", *["0", "0.00"] * 4, "3", *["0"] * 6, "fish caught"]


def test_a_column_of_rod_days_adds_up_to_the_season_s(beat, owner):
    fill(beat)
    path = "/api/v1/fisheries/upper-water/returns/2025/"
    rows = read(owner.get(f"{path}?format=csv"))
    assert (
        sum(int(row[rows[0].index("Rod days")] or 0) for row in rows[1:])
        == owner.get(path).json()["rod_days"]
        == 3
    )


def test_a_formula_in_the_fishery_s_name_is_disarmed(beat, owner):
    """OWASP ASVS 5.0, 1.2.10: a cell that begins with = + - @ is quoted."""
    response = owner.get("/api/v1/fisheries/upper-water/returns/2025/?format=csv")
    assert {row[0] for row in read(response)[1:]} == {"'=HYPERLINK(1)"}
    assert response["Content-Disposition"] == 'attachment; filename="return-upper-water-2025.csv"'


def test_the_json_states_every_zero_and_exact_weights(beat, owner):
    fill(beat)
    body = owner.get("/api/v1/fisheries/upper-water/returns/2025/").json()
    assert (body["state"], body["first_on"], body["last_on"]) == ("data", "2025-02-11", "2025-10-31")
    july = body["months"][5]
    assert (july["name"], july["rod_days"]) == ("July", 3)
    assert july["catch"]["kept"]["1sw"] == {"number": 2, "weight_kg": "4.35", "unweighed": 0}
    assert july["catch"]["released"]["msw"] == {"number": 0, "weight_kg": "0.00", "unweighed": 0}


@pytest.mark.parametrize("season", ["2014", "2201", "99999999999"])
def test_a_season_of_another_age_is_refused(owner, season):
    response = owner.get(f"/api/v1/fisheries/upper-water/returns/{season}/")
    assert (response.status_code, list(response.json()["errors"])) == (400, ["season"])


def test_a_refusal_is_a_problem_document_even_when_csv_was_asked_for(beat):
    ghillie = client_of(keeper(beat.fishery, "ghillie"))
    response = ghillie.get("/api/v1/fisheries/upper-water/returns/2025/?format=csv")
    assert (response.status_code, response["Content-Type"]) == (403, "application/problem+json")
    assert response.json()["type"] == "/api/v1/problems/not-your-part"
