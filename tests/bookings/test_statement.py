"""Statements and takings: the same sums as JSON, CSV, PDF and picture."""

import csv
import datetime as dt
import io
from decimal import Decimal
from xml.etree import ElementTree as ET

import pytest
from defusedxml.ElementTree import fromstring
from hypothesis import given
from hypothesis import strategies as st
from pypdf import PdfReader

from bookings import accounts
from bookings.takings import by_month, picture
from bookings.tariff import Due
from tests.factories import (
    GuestFactory,
    LedgerEntryFactory,
    LetFactory,
    client_of,
    guest_with_account,
)

SVG = "{http://www.w3.org/2000/svg}"
TODAY = dt.date(2026, 5, 6)
SUMS = st.decimals(min_value=-99_999, max_value=99_999, places=2)


@pytest.fixture
def una(beat):
    """Owes 70.00 of 120.00, and has a name that a spreadsheet would run."""
    guest = guest_with_account(beat.fishery, name='=HYPERLINK("http://x.example")')
    let = LetFactory(beat=beat, booker=guest)
    LedgerEntryFactory(
        guest=guest, let=let, kind="charge", amount=Decimal("120.00"), vat=Decimal("20.00"), note="+1"
    )
    LedgerEntryFactory(
        guest=guest, let=let, amount=Decimal("-50.00"), reference="@ref", booked_on=dt.date(2026, 6, 1)
    )
    LedgerEntryFactory(guest=GuestFactory(fishery=beat.fishery), amount=Decimal("-7.00"), reference="NOT HERS")
    return guest


def got(guest, kind):
    return client_of(guest.user).get(f"/api/v1/guests/{guest.pk}/statement/?format={kind}")


@pytest.mark.django_db
class TestStatement:
    def test_the_balance_is_the_sum_of_the_entries(self, una):
        body = got(una, "json").json()
        assert (body["balance"], [row["amount"] for row in body["entries"]]) == ("70.00", ["120.00", "-50.00"])

    def test_a_spreadsheet_can_run_none_of_it_and_add_all_of_it(self, una):
        response = got(una, "csv")
        head, *rows = csv.reader(io.StringIO(response.content.decode()))
        assert [row[head.index("Reference")] for row in rows] == ["", "'@ref"]
        assert [row[head.index("Note")] for row in rows] == ["'+1", ""]
        assert [row[head.index("Amount")] for row in rows] == ["120.00", "-50.00"]
        assert [row[head.index("Balance")] for row in rows] == ["120.00", "70.00"]

    def test_the_pdf_says_who_owes_what(self, una):
        text = " ".join(page.extract_text() for page in PdfReader(io.BytesIO(got(una, "pdf").content)).pages)
        assert "owes 70.00 GBP" in text
        assert ("120.00" in text, "-50.00" in text, "NOT HERS" in text) == (True, True, False)

    def test_an_account_without_entries_prints_too(self, beat):
        guest = guest_with_account(beat.fishery, name="\N{FISH} Ægir")
        text = PdfReader(io.BytesIO(got(guest, "pdf").content)).pages[0].extract_text()
        assert ("Nothing is owed." in text, "Ægir" in text) == (True, True)


@pytest.mark.django_db
class TestTakings:
    def test_what_was_paid_and_what_is_still_due_by_month(self, una, beat):
        told = accounts.takings(beat.fishery, 2026, today=TODAY)
        assert [(str(month.taken), str(month.to_come)) for month in told["months"][4:6]] == [
            ("7.00", "70.00"), ("50.00", "0.00"),
        ]  # fmt: skip
        assert (told["taken"], told["to_come"]) == (Decimal("57.00"), Decimal("70.00"))

    def test_another_water_s_money_is_not_counted(self, una, beat):
        LedgerEntryFactory(amount=Decimal("-1000.00"))
        assert accounts.takings(beat.fishery, 2026, today=TODAY)["taken"] == Decimal("57.00")

    def test_the_picture_over_the_wire_is_one(self, una, beat, owner):
        response = client_of(owner).get(f"/api/v1/fisheries/{beat.fishery.slug}/takings/picture/?year=2026")
        assert response["Content-Type"].startswith("image/svg+xml")
        assert fromstring(response.content).tag == f"{SVG}svg"


@given(st.lists(st.tuples(st.dates(dt.date(2026, 1, 1), dt.date(2026, 12, 31)), SUMS), max_size=30))
def test_no_penny_is_lost_between_days_and_months(taken):
    months = by_month(2026, taken=taken, open_dues=[], today=TODAY)
    assert sum(month.taken for month in months) == sum((amount for _, amount in taken), Decimal(0))


def test_what_is_overdue_is_expected_now_and_not_in_the_past():
    late, next_year = Due(dt.date(2026, 1, 5), Decimal(10), "x"), Due(dt.date(2027, 1, 5), Decimal(99), "x")
    months = by_month(2026, taken=[], open_dues=[late, next_year], today=TODAY)
    assert [month.first_on.month for month in months if month.to_come] == [5]


def drawn(*taken):
    months = by_month(
        2026, taken=[(dt.date(2026, n, 1), Decimal(sum_)) for n, sum_ in taken], open_dues=[], today=TODAY
    )
    return ET.fromstring(picture("Durrisk <&> \N{FISH}\0", months, currency="GBP"))


def test_a_bar_is_as_long_as_its_sum_and_says_it():
    root = drawn((1, "200.00"), (2, "100.00"), (3, "-50.00"))
    bars = [float(bar.get("width")) for bar in root.iter(f"{SVG}rect") if bar.get("height") == "18"][::2]
    assert bars[:4] == [420.0, 210.0, 0.0, 0.0]
    told = [text.text for text in root.iter(f"{SVG}text")]
    assert "-50.00 taken" in told
    assert "Taken in all 250.00; still to come 0.00." in told


def test_taken_and_to_come_are_told_apart_without_colour():
    root = drawn((1, "200.00"))
    fills = {bar.get("fill") for bar in root.iter(f"{SVG}rect") if bar.get("height") == "18"}
    assert fills == {"#000", "url(#stripes)"}
    assert root.find(f"{SVG}title").text == "Durrisk <&> \N{FISH}"


def test_a_year_without_money_draws_too():
    assert len(list(drawn().iter(f"{SVG}rect"))) > 24
