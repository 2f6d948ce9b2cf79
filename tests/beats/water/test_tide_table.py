"""A table of high and low waters, as rows and as CSV: what it may say, and every fault at once."""

import datetime as dt
import math
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from beats.water.tide_table import MOST_ROWS, FaultyTideTable, Kind, Water, read_csv, table

LONDON = ZoneInfo("Europe/London")
START = dt.datetime(2026, 5, 4, 0, tzinfo=dt.UTC)
HIGH, LOW = Kind.HIGH, Kind.LOW
TOO_HIGH = (
    "The height is a number from -5 to 20 m above the port's datum; 25.0 is not. Correct it and send it again."
)
GOOD = """at,height_m,kind
2026-05-04T00:45,4.0,high
2026-05-04T06:52,0.5,low
2026-05-04T13:10,4.2,high
"""


def rows(*said, start=START, apart=6):
    return [Water(start + n * dt.timedelta(hours=apart), height, kind) for n, (height, kind) in enumerate(said)]


def faults_of(call, *arguments):
    with pytest.raises(FaultyTideTable) as refused:
        call(*arguments)
    return [(fault.row, fault.text) for fault in refused.value.faults]


def lines(*said, heading="at,height_m,kind"):
    return "\n".join([heading, *said])


def test_a_file_is_read_in_the_fisherys_time():
    found = read_csv(GOOD, LONDON)
    assert found.waters == (
        Water(dt.datetime(2026, 5, 3, 23, 45, tzinfo=dt.UTC), 4.0, HIGH),
        Water(dt.datetime(2026, 5, 4, 5, 52, tzinfo=dt.UTC), 0.5, LOW),
        Water(dt.datetime(2026, 5, 4, 12, 10, tzinfo=dt.UTC), 4.2, HIGH),
    )


def test_a_zone_in_the_file_counts_and_columns_may_stand_in_any_order():
    text = lines(
        "High , 2026-05-04T00:45+01:00,4.0", "low,2026-05-04T05:52Z, 0.5", "", heading="\ufeffkind, AT,Height_m"
    )
    assert read_csv(text, ZoneInfo("Pacific/Auckland")).waters == read_csv(GOOD, LONDON).waters[:2]


def test_line_ends_of_another_system_change_nothing():
    assert read_csv(GOOD.replace("\n", "\r\n"), LONDON) == read_csv(GOOD, LONDON)


def test_every_faulty_line_is_named_at_once():
    text = lines(
        "2026-05-04T00:45,4.0,high",
        "2026-05-04,0.5,low",
        "soon,12 ft,slack",
        "2026-05-04T13:10,nan,high",
        "2026-05-04T19:00,25,low",
        "2026-05-05T01:10,4.1",
        "2026-05-05T01:20,4.1,high,spring",
        "2026-05-05T07:20,😀,low",
    )
    assert faults_of(read_csv, text, LONDON) == [
        (3, "at: '2026-05-04' says no time of day. Write it like 2026-05-04T06:12"),
        (4, "at: 'soon' is no time. Write it like 2026-05-04T06:12"),
        (4, "height_m: '12 ft' is no number. Write metres, such as 3.7"),
        (4, "kind: 'slack' is neither. Write high or low"),
        (5, "height_m: 'nan' is no number. Write metres, such as 3.7"),
        (6, TOO_HIGH),
        (7, "has 2 cells, not 3: at,height_m,kind"),
        (8, "has 4 cells, not 3: at,height_m,kind"),
        (9, "height_m: '😀' is no number. Write metres, such as 3.7"),
    ]


def test_the_refusal_says_all_of_it_to_a_person():
    with pytest.raises(FaultyTideTable) as refused:
        read_csv(lines("2026-05-04T00:45,4.0,high", "2026-05-04T06:45,0.5,high"), LONDON)
    assert refused.value.sentence == (
        "The tide table has 1 fault; nothing was changed.\n"
        "  line 3: two high waters in a row, with line 2. Add the one between, or mend a kind"
    )


def test_a_time_the_clocks_skip_is_refused_with_what_to_write():
    # The clocks of London go from 01:00 to 02:00 on 29 March 2026 (IANA time zones, zone Europe/London).
    text = lines("2026-03-29T00:59,4.0,high", "2026-03-29T01:30,0.5,low")
    ((line, said),) = faults_of(read_csv, text, LONDON)
    assert (line, said.split(". ")) == (
        3,
        ["at: the clocks of Europe/London skip 2026-03-29T01:30", "Write 2026-03-29T01:30Z if you mean UTC"],
    )


def test_a_time_the_clocks_pass_twice_is_refused_with_what_to_write():
    text = lines("2026-10-25T00:59,4.0,high", "2026-10-25T01:30,0.5,low", "2026-10-25T02:00,4.0,high")
    ((line, said),) = faults_of(read_csv, text, LONDON)
    assert (line, said.split(". ")) == (
        3,
        [
            "at: the clocks of Europe/London pass 2026-10-25T01:30 twice",
            "Write 2026-10-25T01:30:00+01:00 or 2026-10-25T01:30:00+00:00",
        ],
    )


@pytest.mark.parametrize("offset", ["+01:00", "+00:00"])
def test_what_the_refusal_says_to_write_is_read(offset):
    text = lines("2026-10-24T19:00,4.0,high", f"2026-10-25T01:30:00{offset}", heading="at,height_m,kind")
    found = read_csv(text + ",0.5,low", LONDON)
    assert found.waters[1].at == dt.datetime.fromisoformat(f"2026-10-25T01:30:00{offset}")


@pytest.mark.parametrize(
    "heading", ["", "at,height_ft,kind", "at,height_m", "at,height_m,kind,kind", "2026-05-04T00:45,4.0,high"]
)
def test_a_file_without_its_heading_is_refused(heading):
    ((line, text),) = faults_of(read_csv, heading + "\n2026-05-04T00:45,4.0,high", LONDON)
    assert (line, text.split("; ")[0]) == (
        1,
        "the first line names the columns: at,height_m,kind (height in metres)",
    )


def test_an_open_quote_a_long_file_and_an_empty_one_are_refused():
    assert faults_of(read_csv, GOOD + '"2026', LONDON) == [
        (5, "is not CSV: unexpected end of data. Mend this first.")
    ]
    long = lines(*["2026-05-04T00:45,4.0,high"] * (MOST_ROWS + 1))
    assert faults_of(read_csv, long, LONDON) == [(0, "it has more than 20000 lines. Send it a year at a time.")]
    assert faults_of(read_csv, lines(""), LONDON) == [
        (0, "it needs at least one high and one low water. Add rows.")
    ]


def test_times_at_the_end_of_the_calendar_are_refused():
    text = lines("0001-01-01T00:00,4.0,high", "9999-12-31T23:59-12:00,0.5,low")
    assert [text.split(". ")[0] for _, text in faults_of(read_csv, text, ZoneInfo("Asia/Tokyo"))] == [
        "at: '0001-01-01T00:00' is outside the calendar",
        "at: '9999-12-31T23:59-12:00' is outside the calendar",
    ]


@pytest.mark.parametrize(
    ("waters", "row", "word"),
    [
        (rows((4.0, HIGH), (0.5, LOW), (0.6, LOW)), 3, "two low waters in a row, with row 2"),
        (rows((4.0, HIGH), (0.5, LOW), apart=-6), 2, "is earlier than row 1"),
        (rows((4.0, HIGH), (0.5, LOW), apart=0), 2, "is at the same time as row 1"),
        (rows((0.5, HIGH), (4.0, LOW)), 2, "the high water is no higher than the low beside it (row 1)"),
        (rows((2.0, LOW), (2.0, HIGH)), 2, "the high water is no higher than the low beside it (row 1)"),
        (rows((4.0, HIGH), (math.nan, LOW)), 2, "nan is not"),
        (rows((math.inf, HIGH), (0.5, LOW)), 1, "inf is not"),
        (rows((4.0, HIGH), (-5.1, LOW)), 2, "-5.1 is not"),
        (rows((4.0, HIGH), ("0.5", LOW)), 2, "'0.5' is not"),
        (rows((4.0, HIGH), (0.5, LOW), start=START.replace(tzinfo=None)), 1, "says no zone"),
        (rows((4.0, HIGH)), 0, "at least one high and one low"),
    ],
)
def test_rows_that_cannot_be_are_refused_by_number(waters, row, word):
    found = faults_of(table, waters)
    assert found[0][0] == row
    assert word in found[0][1]


def test_a_faulty_row_is_not_blamed_on_its_neighbours():
    found = faults_of(table, rows((4.0, HIGH), (math.nan, LOW), (4.0, HIGH), (0.5, LOW), (0.4, LOW)))
    assert [row for row, _ in found] == [2, 5]


def test_a_table_is_kept_in_utc():
    east = dt.timezone(dt.timedelta(hours=9))
    waters = [Water(w.at.astimezone(east), w.height_m, w.kind) for w in rows((4.0, HIGH), (0.5, LOW))]
    assert [water.at.tzinfo for water in table(waters).waters] == [dt.UTC, dt.UTC]


@given(
    st.text(max_size=200) | st.text('at,height_mkind\n"0123456789-:TZ.+hig low', max_size=300).map(GOOD.__add__)
)
def test_any_text_is_a_table_or_a_refusal(text):
    try:
        waters = read_csv(text, LONDON).waters
    except FaultyTideTable:
        return
    assert table(waters).waters == waters
