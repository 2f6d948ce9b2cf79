"""The statutory close-time table, as data beside the code."""

import csv
import datetime as dt
from collections.abc import Mapping
from functools import cache
from importlib import resources

from beats.season import CloseTime, MonthDay, Period
from beats.shared.refusals import Refusal


class UnknownDistrict(Refusal):
    """No such entry in the schedule."""

    code = "unknown-district"
    title = "Unknown district"
    status = 400


@cache
def table() -> Mapping[str, CloseTime]:
    """Every row of the schedule by its entry number, such as "46" or "48a"."""
    text = resources.files("beats").joinpath("data/close_times.csv").read_text(encoding="utf-8")
    return {row["entry"]: _close_time(row) for row in csv.DictReader(text.splitlines())}


def close_time(entry: str) -> CloseTime:
    """The row with this entry number; raises UnknownDistrict naming the nearest thing to do."""
    try:
        return table()[entry]
    except KeyError:
        raise UnknownDistrict(
            f"There is no district {entry!r} in SSI 2014/327. Write its entry number, such as 46 for Spey "
            "or 48a for the main Tay; beats/data/close_times.csv lists them all."
        ) from None


def _close_time(row: Mapping[str, str]) -> CloseTime:
    closed = _period(row, "closed")
    if closed is None:
        raise ValueError(f"entry {row['entry']} has no close time")
    return CloseTime(
        entry=row["entry"],
        district=row["district"],
        part=row["part"],
        closed=closed,
        rods=_period(row, "rods"),
        release=_period(row, "release"),
        note=row["note"],
        source=row["source"],
        valid_from=dt.date.fromisoformat(row["valid_from"]),
    )


def _period(row: Mapping[str, str], name: str) -> Period | None:
    start, end = row[f"{name}_from"], row[f"{name}_to"]
    return Period(MonthDay.parse(start), MonthDay.parse(end)) if start else None
