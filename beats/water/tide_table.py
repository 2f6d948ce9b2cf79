"""A table of high and low waters: checking it as a whole, and reading it from CSV.

The table comes from whoever publishes the tides of the port; nothing here predicts a tide. Columns
`at`, `height_m` and `kind` (high or low), one row a line; a time without a zone is local time of the
fishery. Every fault is told at once, each with its row and what to write instead.
"""

import csv
import datetime as dt
import io
import re
from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise
from zoneinfo import ZoneInfo

from beats.shared.refusals import Refusal
from beats.water.figures import BadFigure, figure

NUMBER = re.compile(r"[+-]?[0-9]{1,6}([.][0-9]{1,9})?")
COLUMNS = ("at", "height_m", "kind")
HEIGHT_M = (-5.0, 20.0)
"""Above the port's datum; the largest tides of the world range over about 16 m (from memory)."""
MOST_ROWS = 20_000
MOST_FAULTS = 50


class Kind(StrEnum):
    """High or low water."""

    HIGH = "high"
    LOW = "low"


@dataclass(frozen=True)
class Water:
    """One high or low water: its instant (with a zone), its height in metres above the port's datum."""

    at: dt.datetime
    height_m: float
    kind: Kind


@dataclass(frozen=True)
class TideTable:
    """High and low waters by turns, in UTC and in order. Made by `table` or `read_csv`, which check it."""

    waters: tuple[Water, ...]


@dataclass(frozen=True)
class Fault:
    """One thing to mend; `row` counts from 1, or is the line of the file (0: the whole)."""

    row: int
    text: str


class FaultyTideTable(Refusal, ValueError):
    """The table cannot be used; `faults` holds all that was found."""

    code = "faulty-tide-table"
    title = "The tide table has faults"
    status = 422

    def __init__(self, faults: Sequence[Fault], word: str = "row") -> None:
        self.faults = tuple(faults)
        told = [f"  {word} {fault.row}: {fault.text}" if fault.row else f"  {fault.text}" for fault in faults]
        if len(told) > MOST_FAULTS:
            told = [*told[:MOST_FAULTS], f"  and {len(told) - MOST_FAULTS} more"]
        count = "1 fault" if len(faults) == 1 else f"{len(faults)} faults"
        super().__init__(f"The tide table has {count}; nothing was changed.\n" + "\n".join(told))


def table(waters: Sequence[Water]) -> TideTable:
    """The rows as a table, in UTC. Raises FaultyTideTable naming every row that cannot be.

    Refused: fewer than two rows, a height that is no number or outside HEIGHT_M, an instant without a
    zone, the same instant twice, rows out of order, two highs or two lows in a row, a high water no
    higher than the low beside it.
    """
    return _checked([(number, water) for number, water in enumerate(waters, start=1)], [], "row")


def read_csv(text: str, zone: ZoneInfo) -> TideTable:
    """A table from CSV text with the columns `at`, `height_m`, `kind`. Raises FaultyTideTable by line.

    `at` is ISO 8601, such as 2026-05-04T06:12 (local time of `zone`) or 2026-05-04T05:12Z. A local time
    that the clocks skip or pass twice is refused with what to write.
    """
    reader = csv.reader(io.StringIO(text.removeprefix("\ufeff"), newline=""), strict=True)
    rows: list[tuple[int, Water]] = []
    faults: list[Fault] = []
    try:
        heading = [cell.strip().lower() for cell in next(reader, [])]
        if sorted(heading) != sorted(COLUMNS):
            wanted = f"the first line names the columns: {','.join(COLUMNS)} (height in metres)"
            raise FaultyTideTable([Fault(1, f"{wanted}; it says {_shown(','.join(heading))}")], "line")
        for cells in reader:
            found = _read_row(heading, cells, zone) if any(cell.strip() for cell in cells) else []
            if isinstance(found, Water):
                rows.append((reader.line_num, found))
            else:
                faults += [Fault(reader.line_num, said) for said in found]
            if reader.line_num > MOST_ROWS:
                raise FaultyTideTable([Fault(0, f"it has more than {MOST_ROWS} lines. Send it a year at a time.")])
    except csv.Error as error:
        faults.append(Fault(reader.line_num, f"is not CSV: {error}. Mend this first."))
    return _checked(rows, faults, "line")


def _read_row(heading: list[str], cells: list[str], zone: ZoneInfo) -> Water | list[str]:
    """One line as a row, or what is wrong with it."""
    if len(cells) != len(COLUMNS):
        return [f"has {len(cells)} cells, not {len(COLUMNS)}: {','.join(COLUMNS)}"]
    row = dict(zip(heading, cells, strict=True))
    at = _instant(row["at"].strip(), zone)
    height = _height(row["height_m"].strip())
    kind = _kind(row["kind"].strip())
    if isinstance(at, dt.datetime) and isinstance(height, float) and isinstance(kind, Kind):
        return Water(at, height, kind)
    return [said for said in (at, height, kind) if type(said) is str]  # a Kind is a str too


def _instant(text: str, zone: ZoneInfo) -> dt.datetime | str:
    """UTC, or what is wrong and what to write."""
    try:
        at = dt.datetime.fromisoformat(text)
    except ValueError:
        return f"at: {_shown(text)} is no time. Write it like 2026-05-04T06:12"
    if len(text) <= len("2026-05-04"):
        return f"at: {_shown(text)} says no time of day. Write it like 2026-05-04T06:12"
    try:
        if at.tzinfo is not None:
            return at.astimezone(dt.UTC)
        return _local(at, text, zone)
    except OverflowError:
        return f"at: {_shown(text)} is outside the calendar. Write it like 2026-05-04T06:12"


def _local(at: dt.datetime, text: str, zone: ZoneInfo) -> dt.datetime | str:
    """A local time of the zone in UTC, if the clocks show it once that day."""
    first, second = (at.replace(tzinfo=zone, fold=fold) for fold in (0, 1))
    if first.utcoffset() == second.utcoffset():
        return first.astimezone(dt.UTC)
    if first.astimezone(dt.UTC).astimezone(zone).replace(tzinfo=None) != at:
        return f"at: the clocks of {zone.key} skip {text}. Write {text}Z if you mean UTC"
    return f"at: the clocks of {zone.key} pass {text} twice. Write {first.isoformat()} or {second.isoformat()}"


def _shown(text: str) -> str:
    return repr(text if len(text) <= 40 else text[:40] + "…")


def _height(text: str) -> float | str:
    if NUMBER.fullmatch(text):
        return float(text)
    return f"height_m: {_shown(text)} is no number. Write metres, such as 3.7"


def _kind(text: str) -> Kind | str:
    try:
        return Kind(text.lower())
    except ValueError:
        return f"kind: {_shown(text)} is neither. Write high or low"


def _checked(rows: Sequence[tuple[int, Water]], faults: list[Fault], word: str) -> TideTable:
    """The rows as a table if neither they nor what came before hold a fault."""
    alone = [Fault(number, said) for number, water in rows if (said := _wrong(water))]
    wrong = sorted({fault.row for fault in (*faults, *alone)})
    between = [
        Fault(later[0], said)
        for earlier, later in pairwise(rows)
        if not _near(wrong, earlier[0], later[0]) and (said := _wrong_between(earlier, later[1], word))
    ]
    faults = sorted([*faults, *alone, *between], key=lambda fault: fault.row)  # stable
    if not faults and len(rows) < 2:
        faults = [Fault(0, "it needs at least one high and one low water. Add rows.")]
    if faults:
        raise FaultyTideTable(faults, word)
    return TideTable(tuple(Water(water.at.astimezone(dt.UTC), water.height_m, water.kind) for _, water in rows))


def _near(wrong: list[int], earlier: int, later: int) -> bool:
    """Whether a faulty row is one of two, or lies between: then they are no neighbours to compare."""
    place = bisect_left(wrong, earlier)
    return place < len(wrong) and wrong[place] <= later


def _wrong(water: Water) -> str | None:
    if water.at.utcoffset() is None:
        return f"the time {water.at} says no zone. Write it with one"
    try:
        figure(water.height_m, "height", "m above the port's datum", HEIGHT_M)
    except BadFigure as refusal:
        return refusal.sentence
    return None


def _wrong_between(earlier: tuple[int, Water], after: Water, word: str) -> str | None:
    number, before = earlier
    if after.at == before.at:
        return f"is at the same time as {word} {number}. Keep one of them"
    if after.at < before.at:
        return f"is earlier than {word} {number}. Put the rows in order of time"
    if after.kind is before.kind:
        return f"two {after.kind} waters in a row, with {word} {number}. Add the one between, or mend a kind"
    high, low = (after, before) if after.kind is Kind.HIGH else (before, after)
    if high.height_m <= low.height_m:
        return f"the high water is no higher than the low beside it ({word} {number}). Mend a height or a kind"
    return None
