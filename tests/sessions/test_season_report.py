"""The owner's season on four pages, read back by pypdf.

Limits are checked against scipy's chi-square quantiles (Garwood 1936).
"""

import datetime as dt
import io
import re
from decimal import Decimal

import pytest
from pypdf import PdfReader
from scipy.stats import chi2

from sessions.lets_let import season_lets
from sessions.papers import season_report
from sessions.papers.season_report import SeasonReport
from sessions.returns import season_return
from sessions.season_reports import report_of
from sessions.seasons import season_statistics
from tests.factories import (
    NOON,
    BeatFactory,
    CatchFactory,
    LedgerEntryFactory,
    LetFactory,
    MonthlyTotalFactory,
    PoolFactory,
    ReturnFactory,
    RodDayFactory,
    client_of,
)

pytestmark = pytest.mark.django_db

PATH = "/api/v1/fisheries/upper-water/season-report/2026/"
AFTER = dt.datetime(2027, 1, 2, 12, tzinfo=dt.UTC)


@pytest.fixture
def beat():
    return BeatFactory(fishery__slug="upper-water", fishery__name="Upper Water", name="Home Beat", rods=9)


@pytest.fixture
def client(owner):
    return client_of(owner)


def season(beat, *, fish, rods):
    let = LetFactory(beat=beat)
    for rod in range(1, rods + 1):
        RodDayFactory(let=let, day=dt.date(2026, 5, 6), rod=rod)
    CatchFactory.create_batch(fish, beat=beat, pool=PoolFactory(beat=beat, name="Long Alder"))


def pages_of(data):
    return [re.sub(r"\s+", " ", page.extract_text()) for page in PdfReader(io.BytesIO(data)).pages]


def pages(client):
    response = client.get(PATH)
    assert (response.status_code, response["Content-Type"]) == (200, "application/pdf")
    return pages_of(response.content)


def test_the_season_is_four_pages_each_with_its_own_subject(client, beat):
    season(beat, fish=6, rods=8)
    first, second, third, fourth = pages(client)
    assert "May 0 0.00 0 0.00" in first
    assert "May 6 27.00 0 0.00" in first
    assert "May 8 0 0 0 - 8" in second
    assert "Long Alder 6 " in third
    assert "Home Beat 1 / 8 1 / 8" in fourth
    assert "The ledger has nothing paid in this year, and nothing that is still to come in it." in fourth


def test_each_average_stands_with_its_exact_limits(client, beat):
    season(beat, fish=6, rods=8)
    low, high = chi2.ppf(0.025, 12) / 2, chi2.ppf(0.975, 14) / 2
    third = pages(client)[2]
    assert f"Salmon and grilse 6 8 0.750 {low / 8:.3f} to {high / 8:.3f}" in third
    assert f"Long Alder 6 {low:.1f} to {high:.1f}" in third
    assert "not a promise of fish" in third


def test_five_seasons_before_count_those_known_by_totals(client, beat):
    MonthlyTotalFactory(old_book__fishery=beat.fishery, season=2025, number=10)
    MonthlyTotalFactory(old_book__fishery=beat.fishery, season=2024, number=4, weight_kg=None)
    assert "Salmon and grilse 0 0 - - 7.0 (4 to 10) 2 -" in pages(client)[2]


def test_an_empty_season_is_four_pages_and_says_what_is_not_known(client, beat):
    told = pages(client)
    assert (len(told), "Salmon and grilse 0 0 - - not known 0 -" in told[2]) == (4, True)


def test_how_it_stands_signed_is_on_every_page(client, beat):
    assert all("Not signed: the book as it stands." in page for page in pages(client))
    ReturnFactory(fishery=beat.fishery, season=2026)
    assert all("The book has changed since version 1 was signed." in page for page in pages(client))


def test_a_full_book_is_four_pages_too(client, beat):
    for month in range(1, 13):
        at = dt.datetime(2026, month, 7, 12, tzinfo=dt.UTC)
        for number in range(2):
            CatchFactory(beat=beat, caught_at=at, pool=PoolFactory(beat=beat), kind="msw", fate="kept")
            RodDayFactory(let__beat=BeatFactory(fishery=beat.fishery), day=at.date(), rod=number + 1)
    made = pages(client)
    assert len(made) == 4
    assert "And 10 fish of 10 more pools." in made[2]


def test_the_ledger_tells_what_was_taken_and_what_is_to_come(beat, owner):
    """Charged 1,600.00; 400.00 paid in March, 35.50 of it paid back in June; another year's 10.00 stays out."""
    let = LetFactory(beat=beat)
    told = (
        ("charge", 1600, 2026, 2),
        ("payment", -400, 2026, 3),
        ("refund", 35.5, 2026, 6),
        ("payment", -10, 2025, 3),
    )
    for kind, amount, year, month in told:
        LedgerEntryFactory(
            guest=let.booker, let=let, kind=kind, amount=Decimal(str(amount)), booked_on=dt.date(year, month, 2)
        )
    made = season_report.pdf(report_of(beat.fishery, 2026, AFTER - dt.timedelta(days=2)))
    fourth = pages_of(made)[3]
    assert "Taken 400.00 0.00 -35.50 0.00 364.50" in fourth
    assert "Still to come 0.00 0.00 0.00 1225.50 1225.50" in fourth


def test_the_same_figures_are_the_same_bytes(beat):
    season(beat, fish=6, rods=8)
    lets = season_lets(beat.fishery, 2026, takings=[], currency="GBP")
    report = SeasonReport(
        season_return(beat.fishery, 2026, now=AFTER), "Not signed.",
        *(season_statistics(beat.fishery, 2026, species=each, now=AFTER) for each in ("salmon", "sea_trout")),
        lets, AFTER,
    )  # fmt: skip
    made = season_report.pdf(report)
    assert made == season_report.pdf(report)


def test_lets_are_counted_by_beat_and_month_and_cancelled_ones_are_not(beat):
    season(beat, fish=0, rods=3)
    other = BeatFactory(fishery=beat.fishery, name="Lower")
    late = LetFactory(beat=other, first_on=dt.date(2026, 5, 30), last_on=dt.date(2026, 6, 1))
    for day in (dt.date(2026, 5, 30), dt.date(2026, 6, 1)):
        RodDayFactory(let=late, day=day)
    LetFactory(beat=beat, status="cancelled", cancelled_at=NOON)
    RodDayFactory()
    RodDayFactory(let=LetFactory(beat=other, status="held"), day=dt.date(2026, 6, 2))
    made = season_lets(beat.fishery, 2026, takings=[], currency="GBP")
    assert dict(made.lets) == {("Home Beat", 5): 1, ("Lower", 5): 1}
    assert dict(made.rod_days) == {("Home Beat", 5): 3, ("Lower", 5): 1, ("Lower", 6): 1}
    assert made.totals == (2, 5)
