"""The calendar, parsed back by the library.

RFC 5545 sections 3.8.4.7 (UID), 3.8.7.4 (SEQUENCE), 3.8.1.11 (STATUS), 3.8.1.6 (GEO), 3.3.5 form 2
(UTC times). British Summer Time in 2026 runs from 01:00 UTC on 29 March to 01:00 UTC on 25 October
(Summer Time Act 1972: the last Sundays of March and October; the dates follow by calendar).
"""

import datetime as dt
from dataclasses import replace
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st
from icalendar import Calendar

from sessions.sheets.ical import Entry, Feed, calendar, instants

LONDON = ZoneInfo("Europe/London")
FEED = Feed(
    name="Upper Durrisk: Una", fishery="Durrisk Water", fishery_slug="durrisk", beat="Upper Durrisk",
    beat_slug="upper", first_on=dt.date(2026, 3, 23), version=4, status="published",
    stamp=dt.datetime(2026, 3, 20, 12, tzinfo=dt.UTC), zone=LONDON, meeting_point="the hut",
    cautions=("Ask the ghillie.",),
)  # fmt: skip


def entry(day, rod=1, pool="Kiln Pot", **facts):
    given = {
        "part": "morning", "part_name": "morning", "starts": dt.time(9), "ends": dt.time(13),
        "position": (57.629, -5.319), "access": "gate by the kiln",
    }  # fmt: skip
    return Entry(day=day, rod=rod, pool=pool, **given | facts)


def events(*entries, feed=FEED, gone=()):
    return Calendar.from_ical(calendar(feed, entries, gone=gone)).walk("VEVENT")


def utc(month, day, hour, minute=0):
    return dt.datetime(2026, month, day, hour, minute, tzinfo=dt.UTC)


@pytest.mark.parametrize(
    ("day", "begins", "ends"),
    [
        (dt.date(2026, 3, 28), utc(3, 28, 9), utc(3, 28, 13)),
        (dt.date(2026, 3, 29), utc(3, 29, 8), utc(3, 29, 12)),
        (dt.date(2026, 10, 24), utc(10, 24, 8), utc(10, 24, 12)),
        (dt.date(2026, 10, 25), utc(10, 25, 9), utc(10, 25, 13)),
    ],
)
def test_nine_at_the_river_is_nine_on_both_sides_of_the_change_of_clocks(day, begins, ends):
    (event,) = events(entry(day))
    assert (event["DTSTART"].dt, event["DTEND"].dt) == (begins, ends)
    assert event["DTSTART"].to_ical() == begins.strftime("%Y%m%dT%H%M%SZ").encode()


@pytest.mark.parametrize(
    ("day", "starts", "ends", "begin", "end"),
    [
        # The clocks skip from 01:00 to 02:00: midnight to three is two hours.
        ((3, 29), dt.time(0), dt.time(3), utc(3, 29, 0), utc(3, 29, 2)),
        # A part that begins in the hour there is none of keeps its 45 minutes.
        ((3, 29), dt.time(1, 30), dt.time(2, 15), utc(3, 29, 1, 30), utc(3, 29, 2, 15)),
        # The hour from 01:00 comes twice: midnight to three is four hours, and 01:15 is the first.
        ((10, 25), dt.time(0), dt.time(3), utc(10, 24, 23), utc(10, 25, 3)),
        ((10, 25), dt.time(1, 15), dt.time(1, 45), utc(10, 25, 0, 15), utc(10, 25, 0, 45)),
    ],
)
def test_the_small_hours_of_the_change(day, starts, ends, begin, end):
    assert instants(dt.date(2026, *day), starts, ends, LONDON) == (begin, end)


@given(
    st.dates(dt.date(2015, 1, 1), dt.date(2060, 1, 1)), st.times(), st.times(),
    st.sampled_from(["Europe/London", "Europe/Oslo", "America/St_Johns", "Australia/Lord_Howe"]),
)  # fmt: skip
def test_a_part_always_ends_after_it_begins(day, one, other, zone):
    starts, ends = sorted((one, other))
    if starts < ends:
        begin, end = instants(day, starts, ends, ZoneInfo(zone))
        assert begin < end


def test_an_event_says_where_how_and_what_to_mind():
    (event,) = events(entry(dt.date(2026, 3, 28)))
    assert event["SUMMARY"] == "Kiln Pot, Upper Durrisk"
    assert event["LOCATION"] == "Kiln Pot, Upper Durrisk, Durrisk Water"
    assert (event["GEO"].latitude, event["GEO"].longitude) == (57.629, -5.319)
    assert event["DESCRIPTION"] == (
        "Rod 1, morning, 09:00 to 13:00 at the river. Rota version 4.\n"
        "Way in: gate by the kiln\nMeet at: the hut\nAsk the ghillie."
    )


def test_a_pool_without_a_place_or_a_way_in_says_neither():
    (event,) = events(entry(dt.date(2026, 3, 28), position=None, access=""))
    assert "GEO" not in event
    assert "Way in" not in event["DESCRIPTION"]


def test_a_new_version_updates_the_same_event():
    day = dt.date(2026, 3, 28)
    (old,) = events(entry(day))
    (new,) = events(entry(day, pool="Tail"), feed=replace(FEED, version=5))
    assert old["UID"] == new["UID"] == "durrisk.upper.2026-03-23.2026-03-28.morning.rod1@rodtally"
    assert (old["SEQUENCE"], new["SEQUENCE"]) == (4, 5)
    assert new["SUMMARY"].startswith("Tail")


def test_no_two_turns_share_a_uid():
    day = dt.date(2026, 3, 28)
    turns = [entry(day), entry(day, rod=2), entry(day, part="evening"), entry(dt.date(2026, 3, 27))]
    beats = (FEED, replace(FEED, beat_slug="lower"))
    assert len({event["UID"] for feed in beats for event in events(*turns, feed=feed)}) == 8


def test_a_turn_that_went_is_cancelled_and_one_that_stayed_is_not():
    day = dt.date(2026, 3, 28)
    gone = [entry(day, pool="Old"), entry(day, rod=2, pool="Older"), entry(day, rod=2, pool="Old")]
    found = events(entry(day), gone=gone)
    assert [(event["STATUS"], event["SUMMARY"], event["SEQUENCE"]) for event in found] == [
        ("CONFIRMED", "Kiln Pot, Upper Durrisk", 4),
        ("CANCELLED", "Cancelled: Old, Upper Durrisk", 4),
    ]


def test_a_draft_is_tentative():
    (event,) = events(entry(dt.date(2026, 3, 28)), feed=replace(FEED, status="draft"))
    assert (event["STATUS"], event["SUMMARY"]) == ("TENTATIVE", "Draft: Kiln Pot, Upper Durrisk")


def test_text_cannot_break_out_of_its_line():
    name = "Pot\r\nSTATUS:CANCELLED\nEND:VEVENT;,\\"
    (event,) = events(entry(dt.date(2026, 3, 28), pool=name, access=name))
    assert event["STATUS"] == "CONFIRMED"
    assert str(event["SUMMARY"]).replace("\r\n", "\n") == f"{name}, Upper Durrisk".replace("\r\n", "\n")


def test_control_characters_are_left_out():
    """RFC 5545 section 3.1: text holds no control characters but the tab."""
    text = calendar(FEED, [entry(dt.date(2026, 3, 28), pool="Kiln\x0b\x00 Pot", access="a\x07b")])
    assert not [octet for octet in text if octet < 0x20 and octet not in b"\r\n\t"]
    assert b"Kiln Pot" in text


def test_lines_are_folded_and_end_as_the_standard_says():
    """RFC 5545 section 3.1: lines of at most 75 octets, ended by CR LF."""
    text = calendar(FEED, [entry(dt.date(2026, 3, 28), pool="Àrd ùr " * 15)])
    lines = text.split(b"\r\n")
    assert lines[-1] == b""
    assert max(map(len, lines)) <= 75
    assert not any(b"\n" in line for line in lines)
