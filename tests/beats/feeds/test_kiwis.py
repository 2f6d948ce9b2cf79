"""Time series of KiWIS servers: getTimeseriesValues in JSON.

The first answer has the shape public notes on such servers show (`rows` a string, values in the order
of `columns`, gaps with null); its values are theirs. The other answers are invented.
"""

import datetime as dt
import json
from zoneinfo import ZoneInfo

import pytest

from beats.water.feeds import kiwis
from beats.water.feeds.levels import Answer, Level, Unreadable

SEEN = [
    {
        "ts_id": "240759010",
        "rows": "2",
        "columns": "Timestamp,Value,Absolute Value,Quality Code",
        "data": [
            ["2026-09-23T20:00:00.000Z", 0.188, 110.088, 200],
            ["2026-09-23T20:05:00.000Z", 0.188, 110.088, 200],
        ],
    }
]
EIGHT = dt.datetime(2026, 9, 23, 20, 0, tzinfo=dt.UTC)
FIVE = dt.timedelta(minutes=5)


def read(body, **said):
    return kiwis.read(json.dumps(body).encode(), **said)


def series(*rows, columns="Timestamp,Value", **facts):
    return [{"ts_id": "1", "rows": str(len(rows)), "columns": columns, "data": list(rows)} | facts]


def test_a_known_answer_is_read():
    assert read(SEEN, unit="m") == Answer((Level(EIGHT, 0.188), Level(EIGHT + FIVE, 0.188)), ())


def test_the_order_of_the_columns_is_what_the_answer_says_it_is():
    row = [200, 0.188, "2026-09-23T20:00:00.000Z"]
    swapped = series(row, columns="Quality Code,Value,Timestamp")
    assert read(swapped, unit="m").levels == (Level(EIGHT, 0.188),)


def test_a_gap_is_left_out_and_noted():
    gap = series(["2026-09-23T20:00:00Z", None], ["2026-09-23T20:05:00Z", 0.2])
    assert read(gap, unit="m") == Answer((Level(EIGHT + FIVE, 0.2),), ("1 left out: no value",))


def test_rows_cut_short_are_left_out_and_a_count_that_is_wrong_is_told():
    cut = series(["2026-09-23T20:00:00Z"], "row", ["2026-09-23T20:05:00Z", 0.2], rows="7")
    notes = ("2 left out: a row with too few columns", "7 rows announced, 3 came")
    assert read(cut, unit="m") == Answer((Level(EIGHT + FIVE, 0.2),), notes)


def test_no_unit_stated_and_none_declared_is_refused():
    with pytest.raises(Unreadable, match="states no unit"):
        read(SEEN)


@pytest.mark.parametrize(
    ("stated", "declared", "level_m"),
    [("cm", None, 0.188), ("m", "m", 18.8), ("ft", None, 5.73024), ("mm", "mm", 0.0188), (None, "cm", 0.188)],
)
def test_the_unit_is_the_one_stated_or_declared(stated, declared, level_m):
    body = series(["2026-09-23T20:00:00Z", 18.8], ts_unitsymbol=stated)
    assert read(body, unit=declared).levels == (Level(EIGHT, level_m),)


@pytest.mark.parametrize(
    ("stated", "says"), [("cm", "states cm, but the gauge is declared in m"), ("m³/s", "no unit")]
)
def test_a_unit_at_odds_with_the_declared_one_or_none_of_height_is_refused(stated, says):
    with pytest.raises(Unreadable, match=says):
        read(series(["2026-09-23T20:00:00Z", 18.8], ts_unitsymbol=stated), unit="m")


def test_an_offset_counts_and_a_time_without_one_needs_a_declared_zone():
    row = ["2026-09-23T21:00:00.000+01:00", 0.2]
    assert read(series(row), unit="m").levels == (Level(EIGHT, 0.2),)
    bare = series(["2026-09-23T21:00:00", 0.2])
    with pytest.raises(Unreadable, match="Give feed_zone"):
        read(bare, unit="m")
    assert read(bare, unit="m", zone=ZoneInfo("Europe/London")).levels == (Level(EIGHT, 0.2),)


def test_clock_times_that_came_twice_or_never_are_left_out():
    body = series(["2026-10-25T01:30:00", 0.2], ["2026-03-29T01:30:00", 0.3])
    assert read(body, unit="m", zone=ZoneInfo("Europe/London")) == Answer(
        (),
        (
            "1 left out: a time that came twice when the clocks went back",
            "1 left out: a time that the clocks skipped when they went forward",
        ),
    )


def test_the_servers_own_words_are_passed_on():
    with pytest.raises(Unreadable, match="The server says: no such ts_id"):
        read({"type": "error", "code": "InvalidParameterValue", "message": "no such ts_id"})


@pytest.mark.parametrize(
    "body",
    [
        [], {}, "x", [3], SEEN * 2, series(["2026-09-23T20:00:00Z", 1], columns="Timestamp,Level"),
        series(columns=None), series() + series(), [SEEN[0] | {"data": None}],
    ],
)  # fmt: skip
def test_what_is_no_one_series_is_refused(body):
    with pytest.raises(Unreadable):
        read(body, unit="m")


def test_an_empty_series_is_no_fault():
    assert read(series()) == Answer((), ())
