"""OGC WaterML 2.0 (OGC 10-126r4): one series of measured points, in XML.

A point without a value carries xsi:nil or no text. The unit stands in the series' default
metadata, or at a point that differs. MonitoringPoint may declare the zone of times written without.
"""

import datetime as dt
import math
import re
from collections.abc import Iterator
from typing import Any
from xml.etree.ElementTree import Element, ParseError  # types only: the reading is defusedxml's

from defusedxml import DefusedXmlException
from defusedxml.ElementTree import fromstring

from beats.water.feeds.instants import Odd, instant
from beats.water.feeds.levels import Answer, Tray, Unreadable
from beats.water.feeds.units import metres_in

WML = "{http://www.opengis.net/waterml/2.0}"
NIL = "{http://www.w3.org/2001/XMLSchema-instance}nil"


def read(data: bytes, *, zone: dt.tzinfo | None = None, unit: str | None = None) -> Answer:
    """The levels of one series. Raises Unreadable when it is no WaterML 2.0 or holds several series."""
    root = _root(data)
    series = list(root.iter(f"{WML}MeasurementTimeseries"))
    if len(series) != 1:
        count = len(series) or "no"
        raise Unreadable(f"The answer holds {count} measurement series. Give the address of one, in WaterML 2.0.")
    points = list(series[0].iter(f"{WML}MeasurementTVP"))
    if not points:
        return Answer((), ())
    factor = metres_in(_unit(series[0], points), declared=unit)
    tray = Tray(factor)
    for at, value in _read(points, zone or _declared_zone(root)):
        if at is Odd.NO_ZONE:
            raise Unreadable("The answer gives times without a zone. Give feed_zone, such as UTC.")
        tray.put(at, value)
    return tray.answer()


def _root(data: bytes) -> Element:
    try:
        root: Element = fromstring(data, forbid_dtd=True)
    except (ParseError, DefusedXmlException, ValueError, LookupError) as fault:
        raise Unreadable("The answer is not XML that may be read. Check the address.") from fault
    return root


def _read(points: list[Element], zone: dt.tzinfo | None) -> Iterator[tuple[dt.datetime | Odd, Any]]:
    for point in points:
        value = point.find(f"{WML}value")
        yield instant(point.findtext(f"{WML}time"), zone=zone), None if value is None else _number(value)


def _number(value: Element) -> Any:
    """A number; None for a nil or empty one; the text itself where it is neither."""
    text = (value.text or "").strip()
    if not text or value.get(NIL) in ("true", "1"):
        return None
    try:
        number = float(text)
    except ValueError:
        return text
    return number if math.isfinite(number) else None


def _unit(series: Element, points: list[Element]) -> str | None:
    """The series' unit. A point with another makes the whole series doubtful."""
    default = series.find(f"{WML}defaultPointMetadata//{WML}uom")
    named = {uom.get("code") for point in points for uom in point.iter(f"{WML}uom")}
    if default is not None:
        named.add(default.get("code"))
    named.discard(None)
    if len(named) > 1:
        raise Unreadable(f"The series mixes units ({', '.join(sorted(str(name) for name in named))}).")
    return named.pop() if named else None


def _declared_zone(root: Element) -> dt.tzinfo | None:
    """wml2:timeZone of the monitoring point: an offset such as +12:00, or Z."""
    text = (root.findtext(f".//{WML}timeZone/{WML}TimeZone/{WML}zoneOffset") or "").strip()
    if text == "Z":
        return dt.UTC
    found = re.fullmatch(r"([+-])(\d\d):([0-5]\d)", text)
    if not found or int(found[2]) > 14:
        return None
    span = dt.timedelta(hours=int(found[2]), minutes=int(found[3]))
    return dt.timezone(-span if found[1] == "-" else span)
