"""Readings of the Environment Agency's flood-monitoring service.

Shapes: environment.data.gov.uk/flood-monitoring/doc/reference; the reading of 6 July 2017 at 1029TH
(Bourton Dickler), 0.076 m, is one the service gave, kept in public test data. The rest is invented.
"""

import datetime as dt
import json

import pytest

from beats.water.feeds import environment_agency
from beats.water.feeds.levels import Answer, Level, Unreadable

STEM = "http://environment.data.gov.uk/flood-monitoring/id/measures/"
URI = STEM + "1029TH-level-stage-i-15_min-mASD"
FULL = {"@id": URI, "parameter": "level", "qualifier": "Stage", "period": 900, "unitName": "mASD"}
AT = dt.datetime(2017, 7, 6, 2, 45, tzinfo=dt.UTC)
QUARTER = dt.timedelta(minutes=15)


def read(*items, **said):
    return environment_agency.read(json.dumps({"items": list(items)}).encode(), **said)


def item(value=0.076, at="2017-07-06T02:45:00Z", measure=URI):
    return {"@id": "…", "dateTime": at, "measure": measure, "value": value}


@pytest.mark.parametrize("measure", [URI, FULL], ids=["URI", "object"])
def test_a_reading_is_read_in_both_views(measure):
    assert read(item(measure=measure)) == Answer((Level(AT, 0.076),), ())


def test_readings_come_out_in_the_order_of_time_and_each_once():
    later = item(0.08, "2017-07-06T03:00:00Z")
    assert read(later, item(), later).levels == (Level(AT, 0.076), Level(AT + QUARTER, 0.08))


def test_one_reading_may_stand_where_a_list_would():
    data = json.dumps({"items": item()}).encode()
    assert environment_agency.read(data).levels == (Level(AT, 0.076),)


def test_no_readings_are_no_fault():
    assert read() == Answer((), ())


@pytest.mark.parametrize(
    ("value", "why"),
    [
        (None, "no value"),
        ([0.07, 0.08], "several values at once"),
        ([], "several values at once"),
        ("0.076", "text for a number"),
        (True, "text for a number"),
        (-999, "beyond -50 to 500 m"),
        (10**400, "beyond -50 to 500 m"),
    ],
)
def test_a_value_that_is_none_is_left_out_and_noted(value, why):
    other = item(0.08, "2017-07-06T03:00:00Z")
    assert read(item(value), other) == Answer((Level(AT + QUARTER, 0.08),), (f"1 left out: {why}",))


def test_a_list_of_one_value_said_twice_is_that_value():
    assert read(item([0.076, 0.076])).levels == (Level(AT, 0.076),)


def test_what_json_has_not_is_no_value():
    data = json.dumps({"items": [item(float("nan"))]}).encode()
    assert environment_agency.read(data) == Answer((), ("1 left out: no value",))


def test_two_levels_for_one_instant_are_both_left_out():
    assert read(item(0.076), item(0.9)) == Answer((), ("1 left out: two levels for one instant",))


@pytest.mark.parametrize("at", [None, "", "2017-07-06", "yesterday", 5, "2017-13-06T02:45:00Z"])
def test_a_reading_without_a_time_is_left_out(at):
    assert read(item(at=at)) == Answer((), ("1 left out: no readable time",))


def test_a_time_without_a_zone_refuses_the_answer_unless_the_owner_declared_one():
    bare = item(at="2017-07-06T02:45:00")
    with pytest.raises(Unreadable, match="Give feed_zone"):
        read(bare)
    assert read(bare, zone=dt.UTC).levels == (Level(AT, 0.076),)


@pytest.mark.parametrize(
    ("measure", "says"),
    [
        (STEM + "0130TH-rainfall-tipping_bucket_raingauge-t-15_min-mm", "measures no level"),
        (STEM + "1029TH-flow--i-15_min-m3_s", "measures no level"),
        (FULL | {"parameter": "rainfall", "unitName": "mm"}, "measures no level"),
        (FULL | {"unitName": "furlong"}, "'furlong' is no unit of height"),
        (STEM + "1029TH-level-stage-i-15_min-", "states no unit"),
        (None, "does not say of what measure"),
        (7, "does not say of what measure"),
    ],
)
def test_what_measures_no_level_or_states_no_unit_is_refused(measure, says):
    with pytest.raises(Unreadable, match=says):
        read(item(measure=measure))


def test_a_unit_left_unsaid_is_the_owners_to_say():
    silent = item(0.5, measure=STEM + "1029TH-level-stage-i-15_min-")
    assert read(silent, unit="m").levels == (Level(AT, 0.5),)


def test_millimetres_above_a_datum_are_metres_too():
    assert read(item(76, measure=FULL | {"unitName": "mm"})).levels == (Level(AT, 0.076),)


def test_two_measures_in_one_answer_are_never_mixed():
    other = item(measure=STEM + "1029TH-level-downstage-i-15_min-mASD")
    with pytest.raises(Unreadable, match="holds 2 measures"):
        read(item(), other)


@pytest.mark.parametrize(
    "data", [b"", b"<html>", b"[]", b"{}", b'{"items": 3}', b'{"items": [3]}', b"\xff", b"[" * 9999]
)
def test_what_is_no_such_answer_is_refused(data):
    with pytest.raises(Unreadable):
        environment_agency.read(data)
