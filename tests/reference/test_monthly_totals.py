"""Printed tables of monthly catches, brought in as an old book and summed back to their printed totals.

Source: Marine Directorate, "Salmon and Sea Trout fishery statistics: 1952-2022 season, reported catch by
district and method" (net fisheries; numbers and kilograms of MSW and 1SW salmon and sea trout by month).
The seasons here are given years this service makes returns of.
"""

import dataclasses
import datetime as dt
from decimal import Decimal

import pytest

from sessions.monthly import lines
from sessions.old_books.plan import Plan
from sessions.returns import season_return
from sessions.seasons import season_statistics
from sessions.services.old_books import bring_in
from sessions.statistics.rates import rate
from tests.factories import NOON, BeatFactory, keeper
from tests.sessions.old_books.books import csv_of

pytestmark = pytest.mark.django_db

COLUMNS = {
    "month": "Month", "msw_number": "Wild MSW number", "msw_weight": "Wild MSW weight (kg)",
    "1sw_number": "Wild 1SW number", "1sw_weight": "Wild 1SW weight (kg)",
    "sea_trout_number": "Sea trout number", "sea_trout_weight": "Sea trout weight (kg)",
}  # fmt: skip
PRINTED = [
    ("April", 0, 0, 0, 0, 4, "12.0"), ("May", 29, "156.0", 0, 0, 109, "338.0"),
    ("June", 108, "455.0", 10, "25.0", 322, "770.0"), ("July", 90, "405.0", 28, "61.9", 251, "516.0"),
    ("August", 90, "450.0", 9, "22.0", 75, "220.4"), ("September", 3, "18.0", 0, 0, 7, "21.0"),
]  # fmt: skip
TOTAL = {"msw": (320, "1484.00"), "1sw": (47, "108.90"), "sea_trout": (768, "1877.40")}
TAY_1970 = [
    ("February", 573, 0, 26), ("March", 865, 0, 55), ("April", 1118, 0, 427), ("May", 1542, 15, 2394),
    ("June", 3391, 734, 3646), ("July", 10694, 23223, 3722), ("August", 9036, 10597, 849),
]  # fmt: skip
TAY_TOTAL = {"msw": 27219, "1sw": 34569, "sea_trout": 11119}
PLAN = Plan(what="months", columns=COLUMNS, fixed={"season": "2019", "fate": "kept"})


@pytest.fixture
def fishery():
    return BeatFactory().fishery


def brought_in(fishery, data, plan=PLAN):
    bring_in(fishery, data, plan, name="table.csv", by=keeper(fishery), now=NOON)
    return season_return(fishery, int(plan.fixed.get("season", 2019)), now=NOON)


def test_a_district_s_printed_months_add_up_to_its_printed_totals(fishery):
    made = brought_in(fishery, csv_of(*PRINTED, head=COLUMNS.values()))
    found = {kind: (cell.number, str(cell.weight_kg)) for kind, cell in made.totals["kept"].items() if cell.number}
    assert found == TOTAL


def test_each_printed_month_stands_in_the_return_as_printed(fishery):
    made = brought_in(fishery, csv_of(*PRINTED, head=COLUMNS.values()))
    found = [
        (row.name, *(figure for kind in TOTAL for figure in _figures(row.cells["kept"][kind])))
        for row in made.months
        if row.month in range(4, 10)
    ]
    assert found == [(row[0], *map(Decimal, row[1:])) for row in PRINTED]


NATIONAL = {
    "by fate": [("June", "released", 45_872), ("June", "kept", 1_106)],
    "by time of year": [("April", "released", 2_593), ("June", "released", 44_385)],
}
"""Wild salmon by rod in Scotland, 2024 ("Statistics updated for the 2024 season", wired-gov.net, 14 May 2025):
46,978, of which 2,593 spring fish. The month stands for what is not told: which of the summer months it was."""


@pytest.mark.parametrize("split", NATIONAL)
def test_the_national_rod_catch_of_2024_sums_back_to_what_was_published(fishery, split):
    head = {"month": "Month", "fate": "Method", "number": "Number"}
    plan = Plan(what="months", columns=head, fixed={"season": "2024", "kind": "msw"})
    made = brought_in(fishery, csv_of(*NATIONAL[split], head=head.values()), plan)
    told = season_statistics(fishery, 2024, species="salmon", now=NOON)
    assert sum(made.totals[fate]["msw"].number for fate in ("kept", "released")) == told.overall.fish == 46_978
    if split == "by fate":
        assert f"{told.released.share:.1%}" == "97.6%"
        assert round(rate(told.overall.fish, 201_498).rate, 3) == 0.233


def _figures(cell):
    return cell.number, cell.weight_kg


def test_tay_1970_net_and_coble_adds_up_though_only_numbers_are_printed_by_month(fishery):
    columns = {name: column for name, column in COLUMNS.items() if not name.endswith("weight")}
    plan = dataclasses.replace(PLAN, columns=columns)
    made = brought_in(fishery, csv_of(*TAY_1970, head=columns.values()), plan)
    cells = made.totals["kept"]
    assert {kind: cells[kind].number for kind in TAY_TOTAL} == TAY_TOTAL
    assert {kind: cells[kind].unweighed for kind in TAY_TOTAL} == TAY_TOTAL


def test_a_return_in_the_published_columns_comes_in_again_as_it_went_out(fishery):
    made = brought_in(fishery, csv_of(*PRINTED, head=COLUMNS.values()))
    head, *rows = lines(made.months, fishery="Water", year=2018)
    plan = Plan(what="months", columns=COLUMNS | {"season": "Year", "month": "Month number", "fate": "Method"})
    bring_in(fishery, csv_of(*rows, head=head), plan, name="again.csv", by=keeper(fishery), now=NOON)
    again = season_return(fishery, 2018, now=NOON + dt.timedelta(days=1))
    assert again.totals == made.totals
