"""Positions in a fishery file that cannot be: each with the path of the key to change and what to write."""

from collections.abc import Iterable, Iterator
from typing import Any
from zoneinfo import available_timezones

from beats import places

Path = tuple[str | int, ...]
Table = dict[str, Any]


def place_faults(fishery: Table, pools: Iterable[tuple[Path, Table]]) -> Iterator[tuple[Path, str]]:
    """A fishery outside its district, a clock that is not the sun's, a pool far from its fishery."""
    point = _point(fishery)
    if point is None:
        return
    entry, zone = fishery.get("district"), fishery.get("time_zone")
    found = places.misplaced(*point, entry=entry) if isinstance(entry, str) else None
    if found is not None:
        yield ("fishery", found.field), found.sentence
        return  # the clock and the pools are judged by this point
    if isinstance(zone, str) and zone in available_timezones() and (wrong := places.wrong_zone(zone, point[1])):
        yield ("fishery", "time_zone"), wrong
    for path, pool in pools:
        there = _point(pool)
        if there is not None and (away := places.too_far(there, point)):
            yield (*path, away.field), away.sentence


def _point(table: Table) -> tuple[float, float] | None:
    """(latitude, longitude) where both are degrees; other faults are found field by field."""
    latitude, longitude = table.get("latitude"), table.get("longitude")
    for value, most in ((latitude, 90), (longitude, 180)):
        if not isinstance(value, int | float) or isinstance(value, bool) or not -most <= value <= most:
            return None
    return float(latitude), float(longitude)  # type: ignore[arg-type]
