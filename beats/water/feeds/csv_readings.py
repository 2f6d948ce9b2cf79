"""An owner's readings as CSV: the columns at and level_m, and water_c where the water was taken too.

A person can mend a file, so nothing is left out in silence: any fault refuses the whole, with its
line and what to write.
"""

import csv
import datetime as dt
import io
from zoneinfo import ZoneInfo

from beats.shared.refusals import Refusal
from beats.water.feeds.instants import Odd, instant
from beats.water.feeds.levels import COLDEST_C, HIGHEST_M, LOWEST_M, WARMEST_C, Level

COLUMNS = ("at", "level_m", "water_c")
MOST_FAULTS = 50


class FaultyReadings(Refusal):
    """The file of readings cannot be taken; nothing was changed."""

    code = "faulty-readings"
    title = "The readings have faults"
    status = 400


class _Fault(ValueError):
    """What is wrong with a line, and what to write instead."""


def read(data: bytes, *, zone: ZoneInfo, latest: dt.datetime) -> tuple[Level, ...]:
    """The readings in the order of time, each instant once.

    Times without an offset are read in `zone`, the fishery's. Raises FaultyReadings with every
    fault by line (the first fifty), also for times after `latest`.
    """
    rows = csv.reader(io.StringIO(_text(data), newline=""), strict=True)
    faults: dict[str, list[str]] = {}
    found: dict[dt.datetime, tuple[int, Level]] = {}
    try:
        places = _header(next(rows, []))
        for row in rows:
            if not any(cell.strip() for cell in row):
                continue
            try:
                _add(found, rows.line_num, _level(row, places, zone, latest))
            except _Fault as fault:
                faults[f"line {rows.line_num}"] = [str(fault)]
    except (csv.Error, _Fault) as fault:
        faults[f"line {max(rows.line_num, 1)}"] = [str(fault)]
    if faults:
        raise _refusal(faults)
    return tuple(level for _, (_, level) in sorted(found.items()))


def _text(data: bytes) -> str:
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise FaultyReadings("The file is not UTF-8 text. Save it as CSV in UTF-8.") from None
    if not text.strip():
        raise FaultyReadings("The file is empty. Begin it with the line: at,level_m")
    return text


def _refusal(faults: dict[str, list[str]]) -> FaultyReadings:
    shown = dict(list(faults.items())[:MOST_FAULTS])
    count = "1 fault" if len(faults) == 1 else f"{len(faults)} faults"
    first, (text,) = next(iter(shown.items()))
    return FaultyReadings(f"The file has {count}; nothing was kept. {first}: {text}", errors=shown)


def _header(cells: list[str]) -> dict[str, int]:
    """Where each column stands."""
    names = [cell.strip().lower() for cell in cells]
    if len(names) == 1 and ";" in names[0]:
        raise _Fault("Separate the columns with commas, and write the decimals with a point.")
    if feet := [name for name in names if name.endswith(("_ft", "_feet", "_cm", "_mm")) or name in ("ft", "feet")]:
        raise _Fault(f"{feet[0]} is not metres. Give level_m: a foot is 0.3048 m.")
    if unknown := [name for name in names if name not in COLUMNS]:
        raise _Fault(f"{unknown[0][:30]!r} is no column. The first line is at,level_m or at,level_m,water_c.")
    if missing := [name for name in COLUMNS[:2] if name not in names]:
        raise _Fault(f"The column {missing[0]} is missing. The first line names the columns: at,level_m")
    if len(set(names)) < len(names):
        raise _Fault("A column is named twice.")
    return {name: place for place, name in enumerate(names)}


def _level(row: list[str], places: dict[str, int], zone: ZoneInfo, latest: dt.datetime) -> Level:
    if len(row) != len(places):
        raise _Fault(f"{len(row)} cells, but the first line names {len(places)} columns.")
    cells = {name: row[place].strip() for name, place in places.items()}
    at = _instant(cells["at"], zone)
    if at > latest:
        raise _Fault(f"{cells['at']} is still to come. Check the date.")
    level_m = _number(cells["level_m"], "metres", LOWEST_M, HIGHEST_M, "0.64")
    water = cells.get("water_c", "")
    water_c = _number(water, "degrees Celsius", COLDEST_C, WARMEST_C, "11.5") if water else None
    return Level(at, level_m, water_c)


def _instant(text: str, zone: ZoneInfo) -> dt.datetime:
    at = instant(text, zone=zone)
    if isinstance(at, dt.datetime):
        return at
    if at is Odd.TWICE:
        ways = " or ".join(_with_offset(text, zone, fold) for fold in (0, 1))
        raise _Fault(f"{text} came twice: the clocks went back. Write which: {ways}.")
    if at is Odd.NEVER:
        raise _Fault(f"{text} never came at {zone.key}: the clocks went forward. Check the hour.")
    raise _Fault(f"{text[:40]!r} is no time. Write it like 2026-05-04 17:00 or 2026-05-04T17:00+01:00.")


def _with_offset(text: str, zone: ZoneInfo, fold: int) -> str:
    return dt.datetime.fromisoformat(text).replace(tzinfo=zone, fold=fold).isoformat(timespec="minutes")


def _number(text: str, unit: str, low: float, high: float, example: str) -> float:
    plain = text.removeprefix("-").removeprefix("+").replace(".", "", 1)
    if not (plain.isascii() and plain.isdigit() and len(plain) <= 20):
        raise _Fault(f"{text[:30]!r} is no number of {unit}. Write the number alone, like {example}.")
    number = float(text)
    if not low <= number <= high:
        raise _Fault(f"{text[:30]} is beyond {low:.0f} to {high:.0f} {unit}. Check the unit.")
    return number


def _add(found: dict[dt.datetime, tuple[int, Level]], line: int, level: Level) -> None:
    earlier, known = found.setdefault(level.at, (line, level))
    if known != level:
        raise _Fault(f"Line {earlier} gives another reading for the same instant. Keep one of them.")
