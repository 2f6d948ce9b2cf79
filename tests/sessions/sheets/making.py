"""A sheet made by hand, without a database."""

import datetime as dt
from zoneinfo import ZoneInfo

from sessions.sheets.sheet import Day, Keeper, Sheet, Turn

MONDAY = dt.date(2026, 5, 4)
PARTS = (
    ("morning", dt.time(9), dt.time(13)),
    ("afternoon", dt.time(14), dt.time(18)),
    ("evening", dt.time(19), dt.time(22)),
)
SUNDAY = "Nobody may fish for salmon on a Sunday."


def turn(rod=1, *, day=0, part=0, guest="", pool="Kiln Pot", key=None):
    """A turn on the n-th day of the week in the n-th part; a named guest has their rod's number as key."""
    name, starts, ends = PARTS[part]
    key = key if key is not None else (rod if guest else None)
    return Turn(MONDAY + dt.timedelta(days=day), name, starts, ends, rod, key, guest, pool)


def full_house(rods, days, parts, *, guest="Guest {}", pool="Pool {}"):
    """Every rod out in every part; twenty pools, taken in turn."""
    return tuple(
        turn(rod, day=day, part=part, guest=guest.format(rod), pool=pool.format((rod + day + part) % 20))
        for day in range(days)
        for part in range(parts)
        for rod in range(1, rods + 1)
    )


def sheet(turns=(), **facts):
    week = [MONDAY + dt.timedelta(days=n) for n in range(7)]
    days = [Day(day, "open", "", dt.time(5, 12), dt.time(21, 20)) for day in week[:6]]
    given = {
        "fishery": "Durrisk Water",
        "river": "Durrisk",
        "beat": "Upper Durrisk",
        "first_on": MONDAY,
        "version": 3,
        "status": "published",
        "meeting_point": "the upper hut, 08:30",
        "tidal": False,
        "latitude": 57.61,
        "longitude": -5.35,
        "phone": "+441632960100",
        "keepers": (Keeper("Callum Baird", "ghillie", "+447700900102"), Keeper("Ada Moss", "owner", "")),
        "turns": tuple(turns) or (turn(),),
        "days": (*days, Day(week[6], "CLOSED", SUNDAY, None, dt.time(21, 32))),
        "cautions": ("Ask the ghillie.",),
        "only_for": "",
        "printed_at": dt.datetime(2026, 5, 4, 8, 5, tzinfo=ZoneInfo("Europe/London")),
    }
    return Sheet(**given | facts)
