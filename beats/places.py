"""Does a point lie where it is said to lie? Districts, the country, the time zone, and pools near their fishery.

A sign forgotten or a figure in the wrong place moves dusk by hours, and dusk is when anglers must be off the
water. `data/district_boxes.csv` holds a rectangle for each salmon fishery district of SSI 2014/327, by the
number of its entry without the letter: drawn from memory of the rivers' catchments, a quarter of a degree wide of
them, and never a statement of the legal boundary. It finds gross mistakes only.
"""

import csv
import datetime as dt
import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from importlib import resources
from zoneinfo import ZoneInfo

KM_A_DEGREE = 111.2
FURTHEST_POOL_KM = 40.0
"""From the fishery's point; a river of one fishery is not longer. Common practice, no source."""
SUN_AND_CLOCK_HOURS = 2.0
"""Between noon by the sun and by winter's clock. Western Europe's widest is in Galicia, 1.6 h (from memory)."""


@dataclass(frozen=True)
class Box:
    """Degrees north and east; all four edges belong to it."""

    south: float
    north: float
    west: float
    east: float

    def holds(self, latitude: float, longitude: float) -> bool:
        return self.south <= latitude <= self.north and self.west <= longitude <= self.east

    @property
    def centre(self) -> tuple[float, float]:
        return (self.south + self.north) / 2, (self.west + self.east) / 2

    def __str__(self) -> str:
        return f"{self.south:g} to {self.north:g} N, {_east_west(self.west)} to {_east_west(self.east)}"


SCOTLAND = Box(54.5, 61.0, -9.0, -0.5)
"""Land and islands, from memory, wide of both: Mull of Galloway 54.6 N, Out Stack 60.9 N, St Kilda 8.6 W."""


@dataclass(frozen=True)
class Misplaced:
    """A point that does not fit, in words; `field` is the one to change, latitude or longitude."""

    field: str
    sentence: str


@cache
def boxes() -> dict[str, Box]:
    """Every rectangle by the number of its district."""
    text = resources.files("beats").joinpath("data/district_boxes.csv").read_text(encoding="utf-8")
    return {
        row["district"]: Box(*(float(row[edge]) for edge in ("south", "north", "west", "east")))
        for row in csv.DictReader(text.splitlines())
    }


def box_of(entry: str) -> Box:
    """The rectangle of an entry such as "46" or "48a"; all Scotland for one that is not in the schedule."""
    return boxes().get(re.sub(r"[a-z]$", "", entry.strip()), SCOTLAND)


def misplaced(latitude: float, longitude: float, *, entry: str) -> Misplaced | None:
    """What is wrong with a fishery's point and what it may have been meant to be; None where it fits."""
    box = box_of(entry)
    if box.holds(latitude, longitude):
        return None
    where = f"{latitude:g} N, {_east_west(longitude)} is not in district {entry}, which lies within {box}"
    if box.holds(longitude, latitude):
        return Misplaced(
            "latitude",
            f"{where}. Did you swap latitude and longitude? Write latitude = {longitude:g} and longitude = "
            f"{latitude:g}",
        )
    for field, value, meant in _slips(latitude, longitude):
        tried = (meant, longitude) if field == "latitude" else (latitude, meant)
        if box.holds(*tried):
            return Misplaced(field, f"{value:g} cannot be: {where}. Did you mean {meant:g}?")
    field = "longitude" if box.south <= latitude <= box.north else "latitude"
    country = "" if SCOTLAND.holds(latitude, longitude) else ", and not in Scotland"
    return Misplaced(
        field, f"{where}{country}. Correct the point, in degrees with a decimal point, or the district"
    )


def _slips(latitude: float, longitude: float) -> Iterator[tuple[str, float, float]]:
    """(field, as written, as it may be meant): a sign forgotten, a decimal point in the wrong place, both."""
    for field, value in (("longitude", longitude), ("latitude", latitude)):
        for factor in (-1, 0.1, 10, -0.1, -10, 0.01, 100, -0.01, -100):
            yield field, value, round(value * factor, 6)


def wrong_zone(time_zone: str, longitude: float) -> str:
    """What is wrong with a time zone at a longitude; empty where noon by the sun is near noon by the clock."""
    zone = ZoneInfo(time_zone)
    clocks = (dt.datetime(2026, month, 1, 12, tzinfo=zone).utcoffset() or dt.timedelta() for month in (1, 7))
    ahead = min(clocks).total_seconds() / 3600  # summer time adds an hour in either half of the world
    off = (ahead - longitude / 15 + 12) % 24 - 12
    if abs(off) <= SUN_AND_CLOCK_HOURS:
        return ""
    noon = dt.datetime(2026, 1, 1, 12, tzinfo=dt.UTC) + dt.timedelta(hours=off)
    return (
        f"{time_zone} does not fit longitude {longitude:g}: by that clock the sun would stand highest at "
        f"{noon:%H:%M}. Write the zone at the river, such as Europe/London, or correct the longitude"
    )


def distance_km(one: tuple[float, float], other: tuple[float, float]) -> float:
    """Between two points (latitude, longitude) in degrees, on a sphere (haversine)."""
    (a, b), (c, d) = ((math.radians(value) for value in point) for point in (one, other))
    half = math.sin((c - a) / 2) ** 2 + math.cos(a) * math.cos(c) * math.sin((d - b) / 2) ** 2
    return 2 * math.degrees(math.asin(min(1.0, math.sqrt(half)))) * KM_A_DEGREE


def too_far(pool: tuple[float, float], fishery: tuple[float, float]) -> Misplaced | None:
    """What is wrong with a pool's point beside its fishery's; None where it is near enough."""
    away = distance_km(pool, fishery)
    if away <= FURTHEST_POOL_KM:
        return None
    where = f"{pool[0]:g} N, {_east_west(pool[1])} is {away:.0f} km from the fishery's own point"
    if distance_km((pool[1], pool[0]), fishery) <= FURTHEST_POOL_KM:
        return Misplaced("latitude", f"{where}. Did you swap latitude and longitude?")
    for field, value, meant in _slips(*pool):
        tried = (meant, pool[1]) if field == "latitude" else (pool[0], meant)
        if distance_km(tried, fishery) <= FURTHEST_POOL_KM:
            return Misplaced(field, f"{value:g} cannot be: {where}. Did you mean {meant:g}?")
    return Misplaced("latitude", f"{where}; at most {FURTHEST_POOL_KM:g} km are expected. Correct one of the two")


def for_light(latitude: float, longitude: float, *, entry: str) -> tuple[float, float]:
    """Where to compute light: the fishery's own point, or its district's middle where that cannot be right."""
    return (latitude, longitude) if misplaced(latitude, longitude, entry=entry) is None else box_of(entry).centre


def _east_west(longitude: float) -> str:
    return f"{abs(longitude):g} {'W' if longitude < 0 else 'E'}"
