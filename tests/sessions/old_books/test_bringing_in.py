"""Old books over the wire: looked at, brought in whole or not at all, and taken out again."""

import datetime as dt
from decimal import Decimal

import pytest

from beats.models import AuditEntry
from sessions.models import Catch, MonthlyTotal, OldBook
from tests.factories import (
    BeatFactory,
    CatchFactory,
    DayPartFactory,
    MonthlyTotalFactory,
    PoolFactory,
    client_of,
    guest_with_account,
    keeper,
)
from tests.sessions.old_books.books import FISH, MONTH_HEAD, MONTHS, PLAN, csv_of, form, xlsx_of
from tests.sessions.season_records import SIGNER, stated

pytestmark = pytest.mark.django_db

PATH = "/api/v1/fisheries/upper-water/old-books/"
QUESTIONS = 19
GOOD = ("2024-07-24", "Salmon", "R", "4.5", "77.5", "Size 8", "Long Alder")
GRILSE = ("2024-07-25", "Gr.", "R", "2.5", "", "", "")


@pytest.fixture
def beat():
    beat = BeatFactory(fishery__slug="upper-water", slug="upper")
    PoolFactory(beat=beat, slug="long-alder", name="Long Alder")
    DayPartFactory(fishery=beat.fishery)
    return beat


@pytest.fixture
def client(owner):
    return client_of(owner)


def sent(client, data, plan=None, path=PATH, **headers):
    return client.post(path, form(data, plan), headers=headers)


def looked(client, data, plan=None):
    response = sent(client, data, plan, f"{PATH}look/")
    assert response.status_code == 200
    return response.json()


def in_the_book():
    return OldBook.objects.count(), Catch.objects.count(), MonthlyTotal.objects.count(), AuditEntry.objects.count()


@pytest.mark.parametrize("make", [csv_of, xlsx_of])
def test_every_row_becomes_a_fish_that_names_its_book_and_row(client, beat, make):
    response = sent(client, make(GOOD, GRILSE))
    assert (response.status_code, response.json()["rows"]) == (201, 2)
    first, second = Catch.objects.order_by("id")
    assert (first.kind, first.fate, first.weight_kg, first.length_cm) == (
        "msw",
        "released",
        Decimal("4.50"),
        Decimal("77.5"),
    )
    assert (first.fly, first.pool.slug, first.old_row) == ("Size 8", "long-alder", 2)
    assert (second.kind, second.pool, second.old_book_id) == ("1sw", None, response.json()["id"])


def test_a_fish_without_a_time_is_put_down_at_noon_at_the_river_and_in_no_part(client, beat):
    plan = PLAN | {"columns": FISH | {"time": "Time"}}
    head = (*FISH.values(), "Time")
    sent(client, csv_of((*GOOD, ""), (*GRILSE, "09:30"), head=head), plan)
    told = list(Catch.objects.order_by("id").values_list("caught_at", "part"))
    assert told == [
        (dt.datetime(2024, 7, 24, 11, tzinfo=dt.UTC), ""),
        (dt.datetime(2024, 7, 25, 8, 30, tzinfo=dt.UTC), "morning"),
    ]


def test_what_the_law_has_against_an_old_fish_is_flagged(client, beat):
    """Entry 51, Wester Ross: every salmon goes back from 11 February to 31 March (SSI 2014/327)."""
    sent(client, csv_of(("2024-03-05", "Salmon", "K", *GOOD[3:]), ("2010-03-05", "Salmon", "K", *GOOD[3:])))
    kept, older = Catch.objects.order_by("id").values_list("flag", flat=True)
    assert kept.startswith("Kept when it had to go back. Catch and release only")
    assert older == ""  # the law of that year is not held here


def test_looking_tells_what_would_come_in_and_leaves_nothing_behind(client, beat):
    before = in_the_book()
    seen = looked(client, csv_of(GOOD, GRILSE, ("2023-05-03", *GOOD[1:])))
    assert in_the_book() == before
    assert (seen["rows"], seen["fault_count"], seen["seasons"]) == (
        3, 0,
        [
            {"season": 2023, "fish": 1, "weight_kg": "4.50"},
            {"season": 2024, "fish": 2, "weight_kg": "7.00"},
        ],
    )  # fmt: skip


def test_looking_tells_what_is_unlikely_and_what_stands_there_twice(client, beat):
    seen = looked(client, csv_of(GOOD, GOOD, ("2024-02-14", *GRILSE[1:])))
    told = [(each["row"], each["sentence"][:40]) for each in seen["cautions"]]
    assert told == [
        (3, "A fish just like this one stands in the "),
        (4, "A grilse this early in the year is most "),
    ]


def test_three_bad_rows_of_fifty_thousand_are_named_and_nothing_comes_in(client, beat):
    rows = [GRILSE] * 50_000
    rows[9], rows[24_999], rows[49_999] = (
        ("2024-02-30", *GOOD[1:]), (*GOOD[:3], "1000", *GOOD[4:]), (*GOOD[:6], "Nowhere"),
    )  # fmt: skip
    before, data = in_the_book(), csv_of(*rows)
    seen = looked(client, data)
    assert [(each["row"], each["field"]) for each in seen["faults"]] == [
        (11, "caught_on"), (25_001, "weight"), (50_001, "pool"),
    ]  # fmt: skip
    refused = sent(client, data)
    assert (refused.status_code, list(refused.json()["errors"])) == (400, ["row 11", "row 25001", "row 50001"])
    assert refused.json()["detail"].startswith("The file has 3 faults; nothing was brought in. Row 11, caught_on:")
    assert in_the_book() == before


def test_a_pool_of_another_water_is_no_pool_here(client, beat):
    PoolFactory(name="Elsewhere")
    (fault,) = looked(client, csv_of((*GOOD[:6], "Elsewhere")))["faults"]
    assert fault["sentence"].endswith("Give its name or slug, or leave the cell empty.")


def test_with_two_beats_somebody_must_say_which(client, beat):
    BeatFactory(fishery=beat.fishery, slug="lower")
    (fault,) = looked(client, csv_of(GOOD))["faults"]
    assert fault["sentence"] == "Nobody said which beat. There is: lower, upper."
    assert looked(client, csv_of(GOOD), PLAN | {"fixed": {"beat": "UPPER"}})["rows"] == 1


def test_a_formula_in_a_workbook_is_kept_as_text_and_leaves_disarmed(client, beat):
    assert sent(client, xlsx_of((*GOOD[:5], "=1+1", ""))).status_code == 201
    assert Catch.objects.get().fly == "=1+1"
    sheet = client.get("/api/v1/fisheries/upper-water/fish/?format=csv").getvalue()
    assert b",'=1+1," in sheet


def test_the_same_file_comes_in_once(client, beat):
    first = sent(client, csv_of(GOOD), **{"Idempotency-Key": "old-book-1"})
    again = sent(client, csv_of(GOOD), **{"Idempotency-Key": "old-book-1"})
    assert (first.status_code, again.status_code, again.json()) == (201, 200, first.json())
    assert sent(client, csv_of(GRILSE), **{"Idempotency-Key": "old-book-1"}).status_code == 422
    refused = sent(client, csv_of(GOOD))
    assert (refused.status_code, refused.json()["type"]) == (409, "/api/v1/problems/brought-in-already")
    assert Catch.objects.count() == 1


def test_what_is_taken_out_leaves_every_figure_and_may_come_in_anew(client, beat):
    book = sent(client, csv_of(GOOD)).json()["id"]
    taken = [client.post(f"/api/v1/old-books/{book}/take-out/", {"reason": "pounds"}, "json") for _ in range(2)]
    assert [each.status_code for each in taken] == [200, 200]
    assert taken[0].json() == taken[1].json()
    assert client.get("/api/v1/catches/").json()["results"] == []
    assert Catch.objects.get().version == 2
    assert sent(client, csv_of(GOOD)).status_code == 201


def test_monthly_totals_stand_in_the_return_and_say_so(client, beat):
    rows = [(2024, "July", "Wild MSW", "kept", 12, "54.5"), (2024, "July", "Wild 1SW", "released", 3, "")]
    assert sent(client, csv_of(*rows, head=MONTH_HEAD), MONTHS).status_code == 201
    made = client.get("/api/v1/fisheries/upper-water/returns/2024/").json()
    assert (made["made_of"], made["state"]) == ("months", "data")
    assert made["totals"]["kept"]["msw"] == {"number": 12, "weight_kg": "54.50", "unweighed": 0}
    assert made["totals"]["released"]["1sw"] == {"number": 3, "weight_kg": None, "unweighed": 3}


def test_a_return_of_monthly_totals_can_be_signed(client, beat):
    MonthlyTotalFactory(old_book__fishery=beat.fishery)
    stated(beat, 2025, set(range(2, 11)) - {5})
    path = "/api/v1/fisheries/upper-water/returns/2025/"
    figures = client.get(path).json()["content_hash"]
    signed = client.post(f"{path}signed/", {"content_hash": figures} | SIGNER, "json")
    assert (signed.status_code, signed.json()["state"]) == (201, "data")
    kept = client.get(f"{path}signed/1/").json()
    assert [each["sentence"] for each in kept["findings"] if each["code"] == "monthly-totals"] == [
        "The fish are monthly totals from old.csv; nobody knows them one by one."
    ]


@pytest.mark.parametrize(("year", "kind", "faults"), [(2024, "msw", 1), (2024, "kelt", 0), (2023, "msw", 0)])
def test_totals_do_not_come_beside_fish_that_count(client, beat, year, kind, faults):
    CatchFactory(beat=beat, caught_at=dt.datetime(year, 7, 1, 12, tzinfo=dt.UTC), kind=kind)
    CatchFactory(beat__fishery__slug="other", caught_at=dt.datetime(2024, 7, 1, 12, tzinfo=dt.UTC))
    data = csv_of((2024, 7, "msw", "kept", 12, "54.5"), head=MONTH_HEAD)
    assert looked(client, data, MONTHS)["fault_count"] == faults


def test_fish_do_not_come_beside_totals(client, beat):
    MonthlyTotalFactory(old_book__fishery=beat.fishery, season=2024)
    seen = looked(client, csv_of(GOOD, ("2023-05-03", *GOOD[1:])))
    assert [(each["row"], each["field"]) for each in seen["faults"]] == [(2, "caught_on")]


def test_a_total_is_told_once(client, beat):
    MonthlyTotalFactory(old_book__fishery=beat.fishery, season=2023, month=7)
    row = (2024, 7, "msw", "kept", 12, "54.5")
    seen = looked(client, csv_of(row, row, (2023, *row[1:]), head=MONTH_HEAD), MONTHS)
    assert [(each["row"], each["sentence"]) for each in seen["faults"]] == [
        (3, "Wild MSW kept of that month stand in row 2 already. Keep one of them."),
        (4, "Wild MSW kept of that month stand in the book already. Keep one of them."),
    ]


def test_a_fish_written_down_beside_totals_counts_alone_and_the_review_says_so(client, beat):
    MonthlyTotalFactory(old_book__fishery=beat.fishery)
    CatchFactory(beat=beat, caught_at=dt.datetime(2025, 5, 6, 12, tzinfo=dt.UTC))
    made = client.get("/api/v1/fisheries/upper-water/returns/2025/").json()
    total = sum(cell["number"] for fate in made["totals"].values() for cell in fate.values())
    assert (made["made_of"], total) == ("fish", 1)
    (both,) = [each["sentence"] for each in made["findings"] if each["code"] == "two-books"]
    assert both.startswith("The book has 1 fish of this season, and an old book's monthly totals of 12.")


def test_statistics_count_a_season_of_totals_by_its_number(client, beat):
    MonthlyTotalFactory(old_book__fishery=beat.fishery)
    MonthlyTotalFactory(old_book__fishery=beat.fishery, kind="sea_trout", number=99, weight_kg=None)
    MonthlyTotalFactory(old_book__fishery=beat.fishery, season=2024, number=0, weight_kg=None)
    CatchFactory.create_batch(3, beat=beat)
    made = client.get("/api/v1/fisheries/upper-water/statistics/2026/").json()
    assert (made["average"]["years"], made["average"]["mean"], made["overall"]["fish"]) == ([2024, 2025], 6, 3)
    assert made["notes"][-1].startswith("2024, 2025: known by monthly totals")
    past = client.get("/api/v1/fisheries/upper-water/statistics/2025/").json()
    assert (past["overall"]["fish"], past["released"]["part"], past["weeks"]) == (12, 0, [])


def test_a_mean_weight_outside_the_published_bands_is_a_doubt(client, beat):
    data = csv_of((2024, 7, "msw", "kept", 100, 900), (2024, 8, "msw", "kept", 100, 450), head=MONTH_HEAD)
    (doubt,) = looked(client, data, MONTHS)["cautions"]
    assert (doubt["row"], doubt["field"]) == (2, "weight")


@pytest.mark.parametrize(
    ("plan", "field"),
    [
        (PLAN | {"what": "birds"}, "plan.what"), (PLAN | {"extra": 1}, "plan.extra"),
        (PLAN | {"columns": {"caught_on": "When"}, "fixed": {"kind": "msw", "fate": "kept"}}, "caught_on"),
        (PLAN | {"weight_unit": "stone"}, "plan.weight_unit"),
    ],
)  # fmt: skip
def test_a_plan_that_cannot_be_is_refused_by_its_field(client, beat, plan, field):
    refused = sent(client, csv_of(GOOD), plan)
    assert (refused.status_code, list(refused.json()["errors"])) == (400, [field])


def test_a_plan_that_is_no_json_is_refused(client, beat):
    refused = client.post(PATH, form(csv_of(GOOD)) | {"plan": "{"})
    assert (refused.status_code, refused.json()["detail"][:26]) == (400, "This is not JSON we can re")


def test_a_form_without_its_parts_is_refused_by_their_names(client, beat):
    refused = client.post(PATH, {})
    assert (refused.status_code, sorted(refused.json()["errors"])) == (400, ["file", "plan"])
    assert client.post(PATH, {"file": "x"}, "json").status_code == 415


def test_a_file_too_large_is_refused_unread(client, beat):
    refused = sent(client, b"Date\r\n" + b"x" * 10 * 1024 * 1024)
    assert refused.status_code == 413


def test_only_the_owner_brings_books_in(beat):
    for who in (keeper(beat.fishery, "ghillie"), guest_with_account(beat.fishery).user):
        assert sent(client_of(who), csv_of(GOOD)).status_code == 403
    assert sent(client_of(keeper(BeatFactory().fishery)), csv_of(GOOD)).status_code == 404


@pytest.mark.parametrize("rows", [1, 20])
def test_bringing_in_asks_as_much_for_twenty_rows_as_for_one(django_assert_num_queries, client, beat, rows):
    days = [(f"2024-05-{day:02}", *GRILSE[1:]) for day in range(1, rows + 1)]
    with django_assert_num_queries(QUESTIONS):
        assert sent(client, csv_of(*days)).json()["rows"] == rows
