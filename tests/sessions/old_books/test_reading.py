"""Rows of old books, without a database.

Checked against: the international yard and pound agreement of 1959 (a pound is 0.45359237 kg, an inch
2.54 cm); openpyxl writes the workbooks that are read back.
"""

import datetime as dt
import io
import zipfile
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sessions.old_books import sheet as sheets
from sessions.old_books.figures import Fault, count, day, length, number, time, weight
from sessions.old_books.plan import Plan, WrongMapping
from sessions.old_books.rows import OldFish, OldMonth, RowFault, read_rows
from sessions.old_books.sheet import UnreadableBook, read
from tests.sessions.old_books.books import FISH, HEAD, LONG, MONTH_HEAD, WORDS, csv_of, xlsx_of

TODAY = dt.date(2026, 5, 6)
PLAN = Plan(what="fish", columns=FISH, words=WORDS)
ROW = ("1998-07-24", "Salmon", "K", "4.5", "77.5", "Size 8", "Long Alder")
READ = OldFish(
    2, dt.date(1998, 7, 24), None, "msw", "kept", pool="Long Alder", weight_kg=Decimal("4.50"),
    length_cm=Decimal("77.5"), fly="Size 8",
)  # fmt: skip


def made_of(data, plan=PLAN):
    return read_rows(read(data, sheet=plan.sheet), plan, today=TODAY)


def test_a_row_of_text_is_a_fish():
    assert made_of(csv_of(ROW)) == ([READ], [])


def test_a_workbook_says_the_same_with_dates_and_numbers_of_its_own():
    cells = (dt.datetime(1998, 7, 24), "Salmon", "K", 4.5, 77.5, "Size 8", "Long Alder")  # noqa: DTZ001
    assert made_of(xlsx_of(cells)) == ([READ], [])


def test_a_binary_fraction_of_a_workbook_is_the_figure_it_shows():
    (fish,), faults = made_of(xlsx_of((ROW[0], "Gr.", "K", 1.1 + 2.2, "", "", "")))
    assert (str(fish.weight_kg), faults) == ("3.30", [])
    assert weight("3.3000000000000003", "kg") == Decimal("3.30")


@pytest.mark.parametrize("comma", [";", "\t"])
def test_other_separators_are_found_out(comma):
    assert made_of(csv_of(ROW).replace(b",", comma.encode())) == ([READ], [])


def test_a_formula_stays_its_own_text_and_is_no_number():
    row = (ROW[0], "Salmon", "K", "4.5", "", '=cmd|" /C calc"!A0', "")
    (fish,), faults = made_of(xlsx_of(row))
    assert (fish.fly, faults) == ('=cmd|" /C calc"!A0', [])
    _, (fault,) = made_of(xlsx_of((ROW[0], "Salmon", "K", "=2+2", "", "", "")))
    told = "'=2+2' is a formula, which is not reckoned here. Put its value in the cell."
    assert fault == RowFault(2, "weight", told)


def test_every_fault_of_a_row_is_told_by_the_row_of_the_file():
    bad = ("24/07/1998", "Pike", "", "0", "31 in", "", "")
    _, faults = made_of(csv_of(ROW, (), bad))
    assert [(fault.row, fault.field) for fault in faults] == [
        (4, "caught_on"), (4, "kind"), (4, "fate"), (4, "weight"), (4, "length"),
    ]  # fmt: skip


def test_sizes_no_fish_has_are_a_fault_with_a_hint():
    _, (fault,) = made_of(csv_of((ROW[0], "Salmon", "K", "4.5", "30.5", "", "")))
    assert fault.sentence.endswith("Is the length in inches? Give centimetres and kilograms.")


@pytest.mark.parametrize(("when", "told"), [("2026-05-07", "still to come"), ("1949-12-31", "before 1950")])
def test_a_fish_of_tomorrow_or_of_another_age_is_a_fault(when, told):
    _, (fault,) = made_of(csv_of((when, *ROW[1:])))
    assert told in fault.sentence


def test_what_is_fixed_holds_for_every_row():
    plan = Plan(what="fish", columns={"caught_on": "Date"}, fixed={"kind": "msw", "fate": "released"})
    assert made_of(csv_of(ROW, ROW), plan)[0] == [
        OldFish(row, dt.date(1998, 7, 24), None, "msw", "released") for row in (2, 3)
    ]


@pytest.mark.parametrize(
    ("columns", "field"),
    [
        (FISH | {"angler": "Date"}, "angler"),
        (FISH | {"fly": "Lure"}, "fly"),
        ({name: column for name, column in FISH.items() if name != "fate"}, "fate"),
    ],
)
def test_a_plan_that_does_not_fit_names_the_field(columns, field):
    with pytest.raises(WrongMapping) as refused:
        made_of(csv_of(ROW), Plan(what="fish", columns=columns))
    assert list(refused.value.errors) == [field]


def test_months_come_a_class_a_row():
    plan = Plan(what="months", columns=LONG)
    rows = [(1998, "July", "Wild MSW", "Rod: Retained", 12, "54.5"), (1998, 8, "1sw", "released", 0, 0)]
    assert made_of(csv_of(*rows, head=MONTH_HEAD), plan) == (
        [
            OldMonth(2, 1998, 7, "msw", "kept", 12, Decimal("54.50")),
            OldMonth(3, 1998, 8, "1sw", "released", 0, None),
        ],
        [],
    )


def test_months_come_with_a_column_for_each_class_and_an_empty_cell_is_not_nought():
    columns = {"season": "Y", "month": "M", "msw_number": "S", "msw_weight": "S kg", "1sw_number": "G"}
    plan = Plan(what="months", columns=columns, fixed={"fate": "kept"})
    data = csv_of((1998, 7, "1,204", 5418, ""), (1998, 8, 0, 0, 3), head=columns.values())
    assert made_of(data.replace(b"1,204", b'"1,204"'), plan)[0] == [
        OldMonth(2, 1998, 7, "msw", "kept", 1204, Decimal("5418.00")),
        OldMonth(3, 1998, 8, "msw", "kept", 0, None),
        OldMonth(3, 1998, 8, "1sw", "kept", 3, None),
    ]


@pytest.mark.parametrize(
    ("row", "field"),
    [
        ((1998, 13, "msw", "kept", 1, 4), "month"),
        ((1998, 7, "kelt", "kept", 1, 4), "kind"),
        ((1998, 7, "msw", "kept", 1.5, 4), "number"),
        ((1998, 7, "msw", "kept", 0, 4), "weight"),
        ((1998, 7, "msw", "kept", 2, 0), "weight"),
        ((1998, 7, "msw", "kept", 2, 1000), "weight"),
        ((2027, 7, "msw", "kept", 1, 4), "season"),
        ((2026, 6, "msw", "kept", 1, 4), "month"),
    ],
)
def test_a_month_that_cannot_be_is_a_fault(row, field):
    made, faults = made_of(csv_of(row, head=MONTH_HEAD), Plan(what="months", columns=LONG))
    assert (made, [fault.field for fault in faults]) == ([], [field])


@pytest.mark.parametrize(
    ("text", "unit", "kilograms"),
    [("10", "lb", "4.54"), ("12-8", "lb-oz", "5.67"), ("12 lb 8 oz", "lb-oz", "5.67"), ("12lb", "lb-oz", "5.44")],
)
def test_pounds_and_ounces_are_kilograms(text, unit, kilograms):
    assert weight(text, unit) == Decimal(kilograms)


@pytest.mark.parametrize("figure", ["12.1", "12.5", "12.15", "0.5"])
def test_a_fraction_in_a_cell_of_numbers_is_not_taken_for_ounces(figure):
    """12.10 is kept by a workbook as 12.1 (ECMA-376 part 1, 18.3.1.96, from memory)."""
    with pytest.raises(Fault, match="12-8"):
        weight(Decimal(figure), "lb-oz")


def test_whole_pounds_in_a_cell_of_numbers_are_pounds():
    assert weight(Decimal(12), "lb-oz") == Decimal("5.44")


def test_inches_are_centimetres():
    assert (length("30.5", "in"), length(Decimal(30), "in")) == (Decimal("77.5"), Decimal("76.2"))


@pytest.mark.parametrize("text", ["24/07/1998", "24.07.1998", "24-07-1998"])
def test_the_day_may_come_first(text):
    assert day(text, "day-first") == dt.date(1998, 7, 24)


@pytest.mark.parametrize(
    "read_cell",
    [
        lambda: day("24/07/98", "day-first"), lambda: day("1998-02-30", "iso"), lambda: time("25:00"),
        lambda: weight("12-16", "lb-oz"), lambda: weight("1000", "kg"), lambda: weight("nan", "kg"),
        lambda: weight("-4", "kg"), lambda: length("500", "cm"), lambda: count("2.5"), lambda: number("🐟"),
        lambda: number("1e5"), lambda: number("\u0663"),
    ],
)  # fmt: skip
def test_a_figure_that_cannot_be_is_a_fault(read_cell):
    with pytest.raises(Fault):
        read_cell()


@given(st.text(max_size=20))
def test_any_text_is_a_figure_or_a_fault(text):
    for read_cell in (
        lambda: weight(text, "lb-oz"),
        lambda: length(text, "in"),
        lambda: count(text),
        lambda: time(text),
    ):
        try:
            read_cell()
        except Fault:
            continue


@pytest.mark.parametrize(
    ("data", "told"),
    [
        (b"", "empty"),
        (b"\xff\xfe", "neither XLSX nor UTF-8"),
        (b"Date,Date\r\n1,2", "two columns are called"),
        (b"Date\r\n", "no row below"),
        (b'Date\r\n"1998', "no CSV"),
        (b"PK\x03\x04nothing", "broken"),
        (b"Date\0\r\n1", "NUL"),
        (b"," * 101 + b"\r\n", "more than 100 cells"),
    ],
)
def test_a_file_that_cannot_be_read_is_refused_in_words(data, told):
    with pytest.raises(UnreadableBook, match=f"(?i){told}"):
        read(data)


def test_a_workbook_too_large_unpacked_is_refused_before_it_is_read(monkeypatch):
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("xl/sheet.xml", b"0" * 3_000_000)
    monkeypatch.setattr(sheets, "MOST_UNPACKED", 2_000_000)
    assert len(out.getvalue()) < 10_000
    with pytest.raises(UnreadableBook, match=r"more than 1 MB\. Copy the rows"):
        read(out.getvalue())


def test_more_rows_than_a_book_may_have_are_refused(monkeypatch):
    monkeypatch.setattr(sheets, "MOST_ROWS", 2)
    with pytest.raises(UnreadableBook, match="more than 2 rows"):
        read(csv_of(ROW, ROW, ROW))


def test_a_sheet_is_found_by_its_name_and_another_is_not():
    data = xlsx_of(ROW, sheet="1998")
    assert read(data, sheet="1998").names == HEAD
    with pytest.raises(UnreadableBook, match=r"no sheet '1999'\. There is: 1998\."):
        read(data, sheet="1999")
