"""Readings as the Environment Agency's flood-monitoring service gives them, in JSON.

Its published reference: environment.data.gov.uk/flood-monitoring/doc/reference. `measure` is a URI
in the plain view and an object in the full one; the unit and what is measured stand in either.
"""

import datetime as dt
from typing import Any

from beats.water.feeds.instants import Odd, instant
from beats.water.feeds.levels import Answer, Tray, Unreadable, read_json
from beats.water.feeds.units import metres_in


def read(data: bytes, *, zone: dt.tzinfo | None = None, unit: str | None = None) -> Answer:
    """The levels of one measure. `zone` and `unit` are the gauge's own, for what the answer leaves unsaid.

    Raises Unreadable when it is no such answer, holds several measures or measures no level.
    """
    items = _items(read_json(data))
    measures = {_name(item.get("measure")): item.get("measure") for item in items}
    if len(measures) > 1:
        raise Unreadable(
            f"The answer holds {len(measures)} measures. Give the address of one: .../id/measures/.../readings."
        )
    if not items:
        return Answer((), ())
    (measure,) = measures.values()
    tray = Tray(metres_in(_unit_of_level(measure), declared=unit))
    for item in items:
        at = instant(item.get("dateTime"), zone=zone)
        if at is Odd.NO_ZONE:
            raise Unreadable("The answer gives times without a zone. Give feed_zone, such as UTC.")
        tray.put(at, _value(item.get("value")))
    return tray.answer()


def _items(body: Any) -> list[dict[str, Any]]:
    """`items` is a list of readings, or one reading where only one was asked for."""
    items = body.get("items") if isinstance(body, dict) else None
    items = [items] if isinstance(items, dict) else items
    if not isinstance(items, list) or not all(isinstance(item, dict) for item in items):
        raise Unreadable("The answer has no list of readings. Give an address that ends in /readings.")
    return items


def _value(value: Any) -> Any:
    """A list of equal numbers is that number; of different ones, nobody can say which."""
    return value[0] if isinstance(value, list) and value and value.count(value[0]) == len(value) else value


def _name(measure: Any) -> str:
    name = measure.get("@id") if isinstance(measure, dict) else measure
    if not isinstance(name, str) or not name:
        raise Unreadable("A reading does not say of what measure it is. Ask for the readings of one measure.")
    return name


def _unit_of_level(measure: Any) -> str:
    """The unit; from the end of the URI where the view gives no more: ...-level-stage-i-15_min-mASD."""
    name = _name(measure).rstrip("/").rpartition("/")[2]
    parameter, stated = _between_hyphens(name)
    if isinstance(measure, dict):
        parameter = str(measure.get("parameter") or parameter)
        stated = str(measure.get("unitName") or stated)
    if parameter.lower() != "level":
        raise Unreadable(f"{name[:80]} measures no level. Give the address of a level's readings.")
    return stated


def _between_hyphens(name: str) -> tuple[str, str]:
    """("level", "mASD") of 1029TH-level-stage-i-15_min-mASD; a station's own name may hold hyphens too."""
    before, found, after = name.partition("-level-")
    unit = after.rpartition("-")[2]
    return ("level" if before and found else "", unit)
