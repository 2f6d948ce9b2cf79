"""Time series as KiWIS servers give them: getTimeseriesValues with format=json.

A list of series; `rows` is a string; values stand in the order `columns` names; a gap has a null
value. The unit comes only with metadata=true&md_returnfields=ts_unitsymbol: else the owner says it.
"""

import datetime as dt
from typing import Any

from beats.water.feeds.instants import Odd, instant
from beats.water.feeds.levels import Answer, Tray, Unreadable, read_json
from beats.water.feeds.units import metres_in


def read(data: bytes, *, zone: dt.tzinfo | None = None, unit: str | None = None) -> Answer:
    """The levels of one series. Raises Unreadable when it is no such answer or holds several series."""
    series = _one_series(read_json(data))
    time_column, value_column = _columns(series.get("columns"))
    rows = series.get("data")
    if not isinstance(rows, list):
        raise Unreadable("The answer has no data. Ask for getTimeseriesValues with format=json.")
    if not rows:
        return Answer((), ())
    tray = Tray(metres_in(_stated_unit(series), declared=unit))
    for row in rows:
        if not isinstance(row, list) or len(row) <= max(time_column, value_column):
            tray.leave_out("a row with too few columns")
            continue
        at = instant(row[time_column], zone=zone)
        if at is Odd.NO_ZONE:
            raise Unreadable("The answer gives times without a zone. Give feed_zone, such as UTC.")
        tray.put(at, row[value_column])
    answer = tray.answer()
    return Answer(answer.levels, answer.notes + _missing(series.get("rows"), len(rows)))


def _one_series(body: Any) -> dict[str, Any]:
    if isinstance(body, dict) and body.get("type") == "error":
        raise Unreadable(f"The server says: {str(body.get('message'))[:120]}")
    if not isinstance(body, list) or not body or not isinstance(body[0], dict):
        raise Unreadable("The answer is no list of series. Ask for getTimeseriesValues with format=json.")
    if len(body) > 1:
        raise Unreadable(f"The answer holds {len(body)} series. Give the address of one ts_id.")
    return body[0]


def _columns(names: Any) -> tuple[int, int]:
    """Where the time and the value stand. `columns` is one string, separated by commas."""
    listed = [name.strip() for name in names.split(",")] if isinstance(names, str) else []
    try:
        return listed.index("Timestamp"), listed.index("Value")
    except ValueError:
        raise Unreadable("The answer lacks a column. Ask for returnfields=Timestamp,Value.") from None


def _stated_unit(series: dict[str, Any]) -> str | None:
    stated = series.get("ts_unitsymbol") or series.get("ts_unitname")
    return stated if isinstance(stated, str) else None


def _missing(rows: Any, held: int) -> tuple[str, ...]:
    """What the answer says of its own length is a string; a number of rows cut short is worth a note."""
    said = str(rows)
    return () if not said.isdecimal() or int(said) == held else (f"{said} rows announced, {held} came",)
