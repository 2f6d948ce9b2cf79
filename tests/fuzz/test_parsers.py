"""Whatever a stranger's file, feed or text holds, a parser answers with a result or with its own refusal in words.

Each is given bytes at random, and a good document of its kind broken here and there.
"""

import datetime as dt
import io
import json
from pathlib import Path
from zoneinfo import ZoneInfo

import openpyxl
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from beats.fishery_faults import FaultyFishery, parse
from beats.shared import signing as hook_signing
from beats.water.feeds import csv_readings, environment_agency, kiwis, waterml
from beats.water.feeds.levels import Answer, Unreadable
from beats.water.tide_table import FaultyTideTable, read_csv
from bookings import spreadsheet
from safety import signing, texts
from safety.serializers import GatewayEventIn
from sessions.old_books import plan, rows, sheet

ROOT = Path(__file__).parents[2]
ZONE = ZoneInfo("Europe/London")
NOW = dt.datetime(2026, 5, 6, 11, tzinfo=dt.UTC)
TOML = (ROOT / "beats/data/durrisk.toml").read_text(encoding="utf-8")
CSV = "at,level_m,water_c\n2026-05-04 09:00,0.5,8.1\n2026-03-29 01:30,0.6,\n2026-05-04T10:00Z,0.52,8\n"
TIDES = "at,height_m,kind\n2026-05-04T06:00Z,4.1,high\n2026-05-04T12:10Z,0.9,low\n"
LETS = "guest,beat,first day,rods\nUna,upper,2026-05-04,1\nBo,upper,05/05/2026,2\n"
BOOK = "Day,Kind,Kg,Pool,Fate\n2024-05-04,msw,4.5,Long Alder,released\n2024-06-04,1sw,10 lb 4 oz,,kept\n"
EA = json.dumps(
    {"items": [{"dateTime": "2026-05-04T09:00:00Z", "value": 0.5, "measure": "x-level-stage-i-15_min-m"}]}
)
SERIES = json.dumps(
    [{"columns": "Timestamp,Value", "data": [["2026-05-04T09:00:00.000Z", 0.5]], "ts_unitsymbol": "m"}]
)
WATERML = """<?xml version="1.0"?><timeSeriesResponse xmlns="http://www.cuahsi.org/waterML/1.1/"><timeSeries>
<variable><unit><unitCode>ft</unitCode></unit></variable><values><value dateTime="2026-05-04T09:00:00Z">1.5</value>
</values></timeSeries></timeSeriesResponse>"""
EVENT = {"type": "receipt", "message_id": "x", "state": "sent", "from": "+447700900123", "text": "OUT 4821"}
NASTY = [
    "", "\x00", "\ufeff", "\ud7ff", "🐟", "NaN", "Infinity", "-1", "1e999", "9" * 400,
    "=cmd|' /C calc'!A0", '"',
    "'",
    ",", ";", "\n", "\r", "\t", "[", "]", "{", "}", "<", ">", "&x;", "<!DOCTYPE x []>",
    "]]>", "2026-02-30", "0000-00-00", "2026-05-04T25:61:00+99:99", "10000-01-01T00:00:00Z", "null",
    "true", "1_000",
    "\u202e", "١٢", "½", "\u22123", "\x1b[31m", "\\", "%s", "{0}",
]  # fmt: skip


@st.composite
def broken(draw, good: str):
    """A good document with up to four places cut, doubled or filled with something nasty."""
    text = good
    for _ in range(draw(st.integers(0, 4))):
        at = draw(st.integers(0, len(text)))
        to = min(len(text), at + draw(st.integers(0, 30)))
        text = text[:at] + draw(st.sampled_from([*NASTY, text[at:to] * 2])) + text[to:]
    return text


def held(read, *refusals):
    """What was read, or None where it was refused in words; anything else raised is a fault of ours."""
    try:
        return read()
    except refusals as refusal:
        return None if str(refusal).strip() else pytest.fail("a refusal without a word")


def documents(good):
    return st.one_of(broken(good).map(lambda text: text.encode("utf-8", "surrogatepass")), st.binary(max_size=400))


@given(broken(TOML))
@settings(max_examples=60)
def test_a_fishery_file(text):
    held(lambda: parse(text), FaultyFishery)


@given(st.text(max_size=200))
def test_any_text_as_a_fishery_file(text):
    held(lambda: parse(text), FaultyFishery)


@given(documents(CSV))
def test_readings_in_csv(data):
    levels = held(lambda: csv_readings.read(data, zone=ZONE, latest=NOW), csv_readings.FaultyReadings)
    assert all(-50 <= level.level_m <= 500 and level.at <= NOW for level in levels or ())


@pytest.mark.parametrize(
    ("read", "good"),
    [(environment_agency.read, EA), (kiwis.read, SERIES), (waterml.read, WATERML)],
    ids=["agency", "series", "waterml"],
)
def test_feeds_of_gauges(read, good):
    """Each feed is handed the others' documents too: an address may change its mind."""

    @given(st.one_of(*(documents(each) for each in (good, good, EA, SERIES, WATERML))))
    @example(good.encode())
    @settings(max_examples=200)
    def check(data):
        answer = held(lambda: read(data, zone=ZONE, unit="m"), Unreadable)
        assert answer is None or isinstance(answer, Answer)
        assert all(-50 <= level.level_m <= 500 for level in (answer.levels if answer else ()))

    check()


@given(broken(TIDES))
def test_tide_tables(text):
    held(lambda: read_csv(text, ZONE), FaultyTideTable)


@given(documents(LETS), st.booleans())
def test_lets_of_a_spreadsheet(data, xlsx):
    held(lambda: spreadsheet.read(data, xlsx=xlsx), spreadsheet.BadFile)


@given(
    documents(BOOK), st.sampled_from(["iso", "day-first", "month-first"]), st.sampled_from(["kg", "lb", "lb-oz"])
)
def test_old_books(data, dates, unit):
    columns = {"caught_on": "Day", "kind": "Kind", "weight": "Kg", "pool": "Pool", "fate": "Fate"}
    wanted = plan.Plan(what="fish", columns=columns, dates=dates, weight_unit=unit)
    book = held(lambda: sheet.read(data), sheet.UnreadableBook)
    if book is not None:
        held(lambda: rows.read_rows(book, wanted, today=NOW.date()), plan.WrongMapping)


CELLS = st.one_of(st.none(), st.text(max_size=20), st.floats(), st.integers(), st.datetimes())


@given(st.lists(st.lists(CELLS, max_size=6), max_size=6), st.data())
@settings(max_examples=60)
def test_workbooks_whole_and_broken(cells, data):
    book = openpyxl.Workbook()
    for row in cells:
        try:
            book.active.append(row)
        except (openpyxl.utils.exceptions.IllegalCharacterError, ValueError):
            continue  # the library writes no such cell
    out = io.BytesIO()
    book.save(out)
    body = bytearray(out.getvalue())
    for _ in range(data.draw(st.integers(0, 3))):
        body[data.draw(st.integers(0, 10**6)) % len(body)] ^= data.draw(st.integers(1, 255))
    held(lambda: spreadsheet.read(bytes(body), xlsx=True), spreadsheet.BadFile)
    held(lambda: sheet.read(bytes(body)), sheet.UnreadableBook)


@given(st.one_of(st.text(max_size=200), broken("LATE 30 4821"), broken("OUT 4821"), broken("OK 4821")))
def test_texts_from_a_telephone(text):
    asked = texts.understand(text)
    assert isinstance(asked, texts.Asked) or "Nothing was changed" in asked or "nothing was changed" in asked


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=30),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.sampled_from([*EVENT, "x"]), inner, max_size=5),
    max_leaves=12,
)


@given(JSON)
def test_what_a_gateway_tells(told):
    serializer = GatewayEventIn(data=told)
    assert serializer.is_valid() or serializer.errors


@given(st.text(max_size=80), st.text(max_size=30), st.text(max_size=80), st.binary(max_size=50))
@example("msg_1", "1778065200", "v1,é", b"")
def test_signatures(message_id, stamp, signature, body):
    """Nobody who does not hold the secret is believed, whatever the three headers say."""
    secret = hook_signing.new_secret()
    given_headers = {"webhook-id": message_id, "webhook-timestamp": stamp, "webhook-signature": signature}
    with pytest.raises(signing.NotSigned):
        signing.verified([secret], given=given_headers, body=body, now=NOW)
    with pytest.raises(hook_signing.BadSignature):
        hook_signing.verify(
            secret, message_id=message_id, timestamp=stamp, signature=signature, body=body, now_s=1778065200
        )
