"""OGC WaterML 2.0 Part 1, OGC 10-126r4. The two points are those of an example of that standard (a
discharge: 4.2 and 5.4 m^3/s, with an offset of twelve hours); where a level is needed its unit is changed.
"""

import datetime as dt

import pytest

from beats.water.feeds import waterml
from beats.water.feeds.levels import Answer, Level, Unreadable

SIX = dt.datetime(2019, 5, 16, 18, 0, tzinfo=dt.UTC)
HOUR = dt.timedelta(hours=1)
POINT = "<wml2:point><wml2:MeasurementTVP><wml2:time>{}</wml2:time>{}</wml2:MeasurementTVP></wml2:point>"
EXAMPLE = (("2019-05-17T06:00:00.000+12:00", "4.2"), ("2019-05-17T07:00:00.000+12:00", "5.4"))


def series(points=EXAMPLE, *, unit='<wml2:uom code="m"/>'):
    inner = "".join(
        POINT.format(at, value if "<" in value else f"<wml2:value>{value}</wml2:value>") for at, value in points
    )
    return f"""<wml2:MeasurementTimeseries gml:id="timeseries.1">
      <wml2:metadata><wml2:MeasurementTimeseriesMetadata/></wml2:metadata>
      <wml2:defaultPointMetadata><wml2:DefaultTVPMeasurementMetadata>{unit}<wml2:interpolationType
        xlink:href="http://www.opengis.net/def/timeseriesType/WaterML/2.0/continuous" xlink:title="Instantaneous"/>
      </wml2:DefaultTVPMeasurementMetadata></wml2:defaultPointMetadata>{inner}</wml2:MeasurementTimeseries>"""


def document(*inside, zone=""):
    point = f"<wml2:MonitoringPoint>{zone}</wml2:MonitoringPoint>"
    return f"""<?xml version="1.0" encoding="UTF-8"?>
    <wml2:Collection xmlns:wml2="http://www.opengis.net/waterml/2.0" xmlns:gml="http://www.opengis.net/gml/3.2"
      xmlns:om="http://www.opengis.net/om/2.0" xmlns:xlink="http://www.w3.org/1999/xlink"
      xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance"><wml2:observationMember><om:OM_Observation>
      <om:featureOfInterest>{point}</om:featureOfInterest><om:result>{"".join(inside)}</om:result>
      </om:OM_Observation></wml2:observationMember></wml2:Collection>""".encode()


def test_the_standards_example_is_read_with_its_offset():
    assert waterml.read(document(series())) == Answer((Level(SIX, 4.2), Level(SIX + HOUR, 5.4)), ())


def test_the_standards_example_as_it_stands_is_a_discharge_and_refused():
    with pytest.raises(Unreadable, match=r"'m\^3/s' is no unit of height"):
        waterml.read(document(series(unit='<wml2:uom code="m^3/s"/>')))


@pytest.mark.parametrize(
    "value",
    [
        '<wml2:value xsi:nil="true"/>',
        '<wml2:value xsi:nil="1">9</wml2:value>',
        "<wml2:value/>",
        " ",
        "NaN",
        "<x/>",
    ],
)
def test_a_point_without_a_value_is_left_out_and_noted(value):
    points = (("2019-05-17T06:00:00+12:00", value), EXAMPLE[1])
    told = waterml.read(document(series(points)))
    assert told == Answer((Level(SIX + HOUR, 5.4),), ("1 left out: no value",))


def test_text_and_no_data_numbers_are_left_out():
    points = (("2019-05-17T06:00:00Z", "high"), ("2019-05-17T07:00:00Z", "-9999"))
    notes = ("1 left out: beyond -50 to 500 m", "1 left out: text for a number")
    assert waterml.read(document(series(points))) == Answer((), notes)


@pytest.mark.parametrize(
    ("code", "level_m"), [("cm", 0.042), ("mm", 0.0042), ("[ft_i]", 1.28016), ("ft", 1.28016)]
)
def test_the_stated_unit_is_converted(code, level_m):
    told = waterml.read(document(series(EXAMPLE[:1], unit=f'<wml2:uom code="{code}"/>')))
    assert told.levels == (Level(SIX, level_m),)


def test_a_unit_at_a_point_counts_and_units_are_never_mixed():
    inner = "<wml2:TVPMeasurementMetadata><wml2:uom code='cm'/></wml2:TVPMeasurementMetadata>"
    own = f"<wml2:metadata>{inner}</wml2:metadata>"
    point = (EXAMPLE[0][0], f"<wml2:value>42</wml2:value>{own}")
    assert waterml.read(document(series((point,), unit=""))).levels == (Level(SIX, 0.42),)
    with pytest.raises(Unreadable, match=r"mixes units \(cm, m\)"):
        waterml.read(document(series((point,))))


BARE = (("2019-05-17T06:00:00", "4.2"),)


def zone_of(offset):
    inner = f"<wml2:zoneOffset>{offset}</wml2:zoneOffset>"
    return f"<wml2:timeZone><wml2:TimeZone>{inner}</wml2:TimeZone></wml2:timeZone>"


@pytest.mark.parametrize(("offset", "hours"), [("+12:00", 12), ("-09:30", -9.5), ("Z", 0)])
def test_a_bare_time_is_read_in_the_zone_the_point_declares(offset, hours):
    told = waterml.read(document(series(BARE), zone=zone_of(offset)))
    assert told.levels == (Level(dt.datetime(2019, 5, 17, 6, tzinfo=dt.UTC) - hours * HOUR, 4.2),)


@pytest.mark.parametrize("zone", ["", zone_of("+99:00"), zone_of("noon")])
def test_a_bare_time_in_no_known_zone_refuses_the_answer(zone):
    with pytest.raises(Unreadable, match="Give feed_zone"):
        waterml.read(document(series(BARE), zone=zone))


@pytest.mark.parametrize("inside", [(), (series(), series())])
def test_an_answer_with_no_series_or_two_is_refused(inside):
    with pytest.raises(Unreadable, match=r"holds (no|2) measurement series"):
        waterml.read(document(*inside))


BOMB = b'<!DOCTYPE x [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;">]><x>&b;</x>'
FILE = b'<!DOCTYPE x [<!ENTITY a SYSTEM "file:///etc/passwd">]><x>&a;</x>'


@pytest.mark.parametrize(
    "data", [b"", b"{}", b"<x>", b"\xff\xfe", BOMB, FILE, b'<?xml version="1.0" encoding="x"?><x/>']
)
def test_what_is_not_xml_or_unfolds_is_refused(data):
    with pytest.raises(Unreadable, match="not XML that may be read"):
        waterml.read(data)


def test_a_series_without_points_is_no_fault():
    assert waterml.read(document(series(()))) == Answer((), ())
