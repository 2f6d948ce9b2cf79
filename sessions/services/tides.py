"""When the tide cuts a beat's pools off, part by part: nobody is sent to a pool it will close behind."""

import datetime as dt
from collections.abc import Iterable
from zoneinfo import ZoneInfo

from beats.models import Beat, DayPart, Pool, TideWater
from beats.queries import zone_of
from beats.water.tide import Window, stretch
from beats.water.tide_table import Kind, TideTable, Water

DAY = dt.timedelta(days=1)
Closed = dict[tuple[dt.date, str, str], str]


def closed_by_the_tide(
    beat: Beat, pools: dict[str, Pool], parts: dict[str, DayPart], days: Iterable[dt.date]
) -> tuple[Closed, list[str]]:
    """Parts in which a pool is cut off for any of the time, with the reason; and what is not known.

    Leaving in time is not planned on: rain and wind bring the water earlier than any table.
    """
    low = [pool for pool in pools.values() if pool.cut_off_above_m is not None]
    if not beat.tidal or not low:
        return {}, []
    days = sorted(days)
    zone = zone_of(beat.fishery)
    table = _table(beat, days[0] - DAY, days[-1] + 2 * DAY, zone)
    if table is None:
        names = ", ".join(pool.name for pool in low)
        return {}, [f"No tide table covers this week: look up high water before anybody goes to {names}."]
    closed: Closed = {}
    unknown: set[dt.date] = set()
    for day in days:
        for part in parts.values():
            start, end = (dt.datetime.combine(day, at, zone) for at in (part.starts, part.ends))
            known = stretch(table, start=start, end=end)
            if known.unknown:
                unknown.add(day)
            for pool in low:
                if windows := known.cut_off(pool.cut_off_above_m).windows:
                    spans = " and ".join(_span(window, zone) for window in windows)
                    closed[day, part.slug, pool.slug] = f"cut off by the tide {spans}"
    return closed, [f"The tide of {day:%A} {day.day} is not known: look up high water." for day in sorted(unknown)]


def _table(beat: Beat, first: dt.date, last: dt.date, zone: ZoneInfo) -> TideTable | None:
    span = [dt.datetime.combine(day, dt.time(), zone) for day in (first, last)]
    rows = TideWater.objects.filter(beat=beat, at__range=span).order_by("at")
    waters = tuple(Water(row.at, row.height_m, Kind(row.kind)) for row in rows)
    return TideTable(waters) if len(waters) > 1 else None


def _span(window: Window, zone: ZoneInfo) -> str:
    return f"from {window.start.astimezone(zone):%H:%M} to {window.end.astimezone(zone):%H:%M}"
