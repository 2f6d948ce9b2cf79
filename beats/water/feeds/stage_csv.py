"""A stage record as CSV: the columns time and stage_m, in the order of time. Pure.

Any fault refuses the whole file, with its line and what to write. Other columns are passed over. Times without
an offset are UTC. A byte order mark, which spreadsheets write, is passed over.
"""

import csv
import datetime as dt
import io
import math
from collections.abc import Iterator, Sequence
from itertools import pairwise

from beats.water.feeds.instants import instant
from beats.water.figures import LEVEL_M

COLUMNS = ("time", "stage_m")
MOST_FAULTS = 10
Stage = tuple[dt.datetime, float]


class BadStageFile(ValueError):
    """The file cannot be read as a stage record; the text names the lines and says what to write."""


def read(data: bytes) -> list[Stage]:
    """The record as (UTC instant, metres), each instant once. Raises BadStageFile."""
    rows = csv.reader(io.StringIO(_text(data), newline=""), strict=True)
    found: list[Stage] = []
    faults: list[str] = []
    try:
        time_at, stage_at = _places(next(rows, []))
        for row in rows:
            if not any(cell.strip() for cell in row):
                continue
            fault = _add(found, row, time_at, stage_at)
            if fault:
                faults.append(f"line {rows.line_num}: {fault}")
            if len(faults) == MOST_FAULTS:
                break
    except csv.Error as error:
        faults.append(f"line {max(rows.line_num, 1)}: not CSV ({error}).")
    if faults:
        raise BadStageFile("The record cannot be read.\n" + "\n".join(faults))
    if not found:
        raise BadStageFile("The record has no readings. Give one line for each: 2026-05-04T10:00Z,0.62")
    return found


def interpolated(record: Sequence[Stage], cadence: dt.timedelta) -> Iterator[Stage]:
    """The stage at every multiple of `cadence` since midnight UTC, on the lines between readings, to 0.1 mm."""
    step = cadence.total_seconds()
    first = record[0][0]
    midnight = dt.datetime.combine(first.date(), dt.time(), dt.UTC)
    count = math.ceil((first - midnight).total_seconds() / step)
    if len(record) == 1 and midnight + count * cadence == first:
        yield record[0]
    for place, ((start, low), (end, high)) in enumerate(pairwise(record)):
        last = place == len(record) - 2
        while (at := midnight + count * cadence) < end or (last and at == end):
            yield at, round(low + (high - low) * ((at - start) / (end - start)), 4)
            count += 1


def _text(data: bytes) -> str:
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise BadStageFile("The file is not UTF-8 text. Save it as CSV in UTF-8.") from None
    if not text.strip():
        raise BadStageFile("The file is empty. Begin it with the line: time,stage_m")
    if "\0" in text:
        raise BadStageFile("The file is not text. Save it as CSV in UTF-8.")
    return text


def _places(header: Sequence[str]) -> tuple[int, int]:
    names = [cell.strip().lower() for cell in header]
    if len(names) == 1 and ";" in names[0]:
        raise BadStageFile("Separate the columns with commas, and write the decimals with a point.")
    for name in COLUMNS:
        if names.count(name) != 1:
            raise BadStageFile(f"The first line must name the column {name} once: time,stage_m (metres).")
    return names.index("time"), names.index("stage_m")


def _add(found: list[Stage], row: Sequence[str], time_at: int, stage_at: int) -> str | None:
    """Add the row to those found; the fault, where it has one."""
    if len(row) <= max(time_at, stage_at):
        return "a cell is missing. Give a time and a stage."
    at, stage_m = _instant(row[time_at].strip()), _stage(row[stage_at].strip())
    if at is None:
        return f"{_quoted(row[time_at])} is not a time. Write it like 2026-05-04T10:00Z."
    if stage_m is None:
        return f"{_quoted(row[stage_at])} is not a stage in metres from {LEVEL_M[0]:g} to {LEVEL_M[1]:g}."
    before = found[-1] if found else None
    if before is None or at > before[0]:
        found.append((at, stage_m))
        return None
    return _out_of_order(before, at, stage_m)


def _out_of_order(before: Stage, at: dt.datetime, stage_m: float) -> str | None:
    if at < before[0]:
        return f"{at:%Y-%m-%d %H:%M} is earlier than the line before. Sort the file by time."
    if stage_m != before[1]:
        return f"{at:%Y-%m-%d %H:%M} has two stages, {before[1]:g} and {stage_m:g} m. Keep one."
    return None


def _instant(text: str) -> dt.datetime | None:
    at = instant(text, zone=dt.UTC)
    return at if isinstance(at, dt.datetime) else None


def _stage(text: str) -> float | None:
    """None for what is no finite number (a formula, NaN, 1_000) or outside what a gauge can read."""
    if not text or set(text) - set("+-.0123456789eE"):
        return None
    try:
        stage_m = float(text)
    except ValueError:
        return None
    return stage_m if LEVEL_M[0] <= stage_m <= LEVEL_M[1] else None


def _quoted(cell: str) -> str:
    shown = cell if len(cell) <= 30 else cell[:30] + "…"
    return repr(shown)
