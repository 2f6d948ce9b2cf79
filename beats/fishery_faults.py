"""Reading a fishery file to the end: every fault at once, each with its line and what to write instead."""

import difflib
import itertools
import re
import tomllib
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from pydantic import BaseModel, ValidationError

from beats.fishery_file import FisheryFile, canonical, read_toml
from beats.fishery_places import place_faults
from beats.shared.refusals import Refusal
from beats.water.figures import BadFigure
from beats.water.hydraulics import Measured, in_order

Path = tuple[str | int, ...]


@dataclass(frozen=True)
class Fault:
    """One thing to mend. `line` counts from 1; None when the text does not show it."""

    path: Path
    text: str
    line: int | None = None

    def __str__(self) -> str:
        where = f"line {self.line}, " if self.line else ""
        return f"{where}{_words(self.path)}: {self.text}"


class FaultyFishery(Refusal):
    """The file cannot be loaded; nothing was changed."""

    code = "faulty-fishery"
    title = "The fishery file has faults"
    status = 422

    def __init__(self, faults: Sequence[Fault]) -> None:
        self.faults = tuple(faults)
        count = "1 fault" if len(faults) == 1 else f"{len(faults)} faults"
        super().__init__(
            f"The file has {count}; nothing was changed.\n" + "\n".join(f"  {fault}" for fault in faults)
        )


def parse(text: str) -> FisheryFile:
    """The file as data. Raises FaultyFishery with every fault, in the order of its lines."""
    try:
        raw = read_toml(text)
    except tomllib.TOMLDecodeError as error:
        raise FaultyFishery([Fault(("file",), f"is not TOML: {error}. Mend this first.")]) from None
    found: FisheryFile | None = None
    faults: list[Fault] = []
    try:
        found = FisheryFile.model_validate(raw)
    except ValidationError as error:
        faults += [_of_pydantic(fault) for fault in error.errors()]
    faults += _between_tables(raw)
    if faults or found is None:
        lines = _lines(text)
        placed = [Fault(fault.path, fault.text, _line_of(lines, fault.path)) for fault in faults]
        raise FaultyFishery(sorted(placed, key=lambda fault: (fault.line or 0, str(fault))))
    return canonical(found)


def _of_pydantic(error: Any) -> Fault:
    path: Path = tuple(error["loc"])
    help_text, keys = _help(path)
    kind = error["type"]
    if kind == "missing":
        return Fault(path, f"is missing; write {help_text}")
    if kind == "extra_forbidden":
        near = difflib.get_close_matches(str(path[-1]), keys, n=1)
        hint = f"; perhaps {near[0]}" if near else f"; the keys are {', '.join(keys)}"
        return Fault(path, f"is no key of this table{hint}")
    given = repr(error["input"])
    given = given if len(given) <= 40 else given[:37] + "..."
    return Fault(path, f"{given} will not do; write {help_text}")


def _help(path: Path) -> tuple[str, list[str]]:
    """What to write at a path, and the keys of the table it stands in, from the tables themselves."""
    table: type[BaseModel] = FisheryFile
    text = "a table"
    for step in path:
        if isinstance(step, int) or step not in table.model_fields:
            continue
        field = table.model_fields[step]
        text = field.description or text
        inner = [
            kind for kind in _types(field.annotation) if isinstance(kind, type) and issubclass(kind, BaseModel)
        ]
        if inner:
            keys_of = table
            table = inner[0]
            if step == path[-1]:
                return text, list(keys_of.model_fields)
    return text, list(table.model_fields)


def _types(annotation: Any) -> Iterator[Any]:
    yield annotation
    for argument in getattr(annotation, "__args__", ()):
        yield from _types(argument)


def _between_tables(raw: dict[str, Any]) -> Iterator[Fault]:
    """Faults that no single field shows: names said twice, windows upside down, gauges that are not there."""
    for name, key in (("parts", "slug"), ("gauges", "slug"), ("keepers", "email"), ("grades", "from_on")):
        yield from _twice(_tables(raw, name), key)
    fishery = raw.get("fishery")
    if isinstance(fishery, dict):
        yield from _upside_down_or_same(("fishery",), fishery, "second_visit_percent", "later_visit_percent")
        yield from _care_after_stopping(fishery)
        yield from (Fault(path, text) for path, text in place_faults(fishery, _pools_of(raw)))
    parts = {part.get("slug") for _, part in _tables(raw, "parts")}
    beats = _tables(raw, "beats")
    for path, beat in beats:
        yield from _unknown_parts(path, beat, parts)
    for key in ("slug", "order"):
        yield from _twice(beats, key)
    gauges = {gauge.get("slug") for _, gauge in _tables(raw, "gauges")}
    for path, beat in beats:
        if "gauge" in beat and beat["gauge"] not in gauges:
            yield Fault(
                (*path, "gauge"),
                f"{beat['gauge']!r} is not the slug of a [[gauges]] table; add one or leave it out",
            )
        yield from _pools(path, beat)
    yield from _parts(_tables(raw, "parts"))
    for path, gauge in _tables(raw, "gauges"):
        yield from _upside_down(path, gauge, "typical_low_m", "typical_high_m")
        yield from _half_a_feed(path, gauge)
    if not any(keeper.get("role") == "owner" for _, keeper in _tables(raw, "keepers")):
        yield Fault(("keepers",), 'nobody is the owner; give one keeper role = "owner"')


def _pools(beat_path: Path, beat: dict[str, Any]) -> Iterator[Fault]:
    pools = [((*beat_path, *path), pool) for path, pool in _tables(beat, "pools")]
    for key in ("slug", "order"):
        yield from _twice(pools, key)
    for path, pool in pools:
        yield from _upside_down(path, pool, "level_min_m", "level_max_m")
        if pool.get("boat") is True and not beat.get("boats"):
            yield Fault((*path, "boat"), "is fished from a boat, but the beat has none; set boats on the beat")
        if "cut_off_above_m" in pool and beat.get("tidal") is not True:
            yield Fault((*path, "cut_off_above_m"), "is set, but no tide reaches the beat; set tidal on the beat")
        yield from _flow_table(path, pool.get("flow_table"))
        if ("latitude" in pool) != ("longitude" in pool):
            yield Fault(path, "give both latitude and longitude, or neither")
    holds = [pool.get("rods_at_once", 1) for _, pool in pools if pool.get("retired") is not True]
    rods = beat.get("rods")
    whole = all(isinstance(count, int) and count >= 1 for count in holds)  # else that fault is told already
    if isinstance(rods, int) and whole and pools and sum(holds) < rods:
        text = f"{rods} rods, but its pools hold {sum(holds)} at once; let fewer rods or raise rods_at_once"
        yield Fault((*beat_path, "rods"), text)


def _pools_of(raw: dict[str, Any]) -> list[tuple[Path, dict[str, Any]]]:
    beats = _tables(raw, "beats")
    return [((*beat_path, *path), pool) for beat_path, beat in beats for path, pool in _tables(beat, "pools")]


def _flow_table(path: Path, rows: Any) -> Iterator[Fault]:
    """What the rows do not show one by one: a level twice, a depth that falls. Other faults are told already."""
    if not isinstance(rows, list) or not rows:
        return
    try:
        in_order([Measured(**row) for row in rows])
    except BadFigure as refusal:
        if all(isinstance(row, dict) and _within(row) for row in rows):
            yield Fault((*path, "flow_table"), refusal.sentence)
    except TypeError:
        return


def _within(row: dict[str, Any]) -> bool:
    try:
        Measured(**row)
    except (BadFigure, TypeError):
        return False
    return True


def _care_after_stopping(fishery: dict[str, Any]) -> Iterator[Fault]:
    care, stop, drought = (fishery.get(name, usual) for name, usual in (
        ("care_c", 18), ("stop_c", 20), ("drought_stop_c", 18)))  # fmt: skip
    for name, value in (("care_c", care), ("drought_stop_c", drought)):
        if isinstance(value, int | float) and isinstance(stop, int | float) and value > stop:
            yield Fault(("fishery", name), f"{value} is above stop_c ({stop}); it begins no later than stopping")


def _parts(parts: list[tuple[Path, dict[str, Any]]]) -> Iterator[Fault]:
    times = [(part.get("starts"), part.get("ends"), path) for path, part in parts]
    whole = [(a, b, path) for a, b, path in times if type(a) is type(b) and a is not None and hasattr(a, "hour")]
    for starts, ends, path in whole:
        if ends <= starts:
            yield Fault(
                (*path, "ends"), f"{ends} is not after {starts}; a part ends after it starts, on the same day"
            )
    ordered = sorted((item for item in whole if item[0] < item[1]), key=lambda item: item[0])
    for (_, before_ends, _), (starts, _, path) in itertools.pairwise(ordered):
        if starts < before_ends:
            yield Fault(
                (*path, "starts"),
                f"{starts} is before the last part ends ({before_ends}); parts do not overlap",
            )


def _upside_down(path: Path, table: dict[str, Any], low: str, high: str) -> Iterator[Fault]:
    a, b = table.get(low), table.get(high)
    if isinstance(a, int | float) and isinstance(b, int | float) and not a < b:
        yield Fault((*path, low), f"{a} is not below {high} ({b}); swap them or leave one out")


def _half_a_feed(path: Path, gauge: dict[str, Any]) -> Iterator[Fault]:
    for name, needs in (("feed_kind", "feed_url"), ("feed_url", "feed_kind"),
                        ("feed_zone", "feed_url"), ("feed_unit", "feed_url")):  # fmt: skip
        if name in gauge and needs not in gauge:
            yield Fault((*path, name), f"needs {needs} beside it; give both or neither")


def _upside_down_or_same(path: Path, table: dict[str, Any], low: str, high: str) -> Iterator[Fault]:
    a, b = table.get(low, 20), table.get(high, 40)
    if isinstance(a, int) and isinstance(b, int) and a > b:
        yield Fault((*path, low), f"{a} is above {high} ({b}); a later visit is worth no more than the second")


def _unknown_parts(beat_path: Path, beat: dict[str, Any], parts: set[Any]) -> Iterator[Fault]:
    for path, pool in _tables(beat, "pools"):
        by_part = pool.get("worth_by_part")
        for name in by_part if isinstance(by_part, dict) else ():
            if name not in parts:
                yield Fault((*beat_path, *path, "worth_by_part"), f"{name!r} is not the slug of a [[parts]] table")


def _twice(tables: list[tuple[Path, dict[str, Any]]], key: str) -> Iterator[Fault]:
    said = [(path, table[key]) for path, table in tables if key in table]
    counts = Counter(str(value) for _, value in said)
    seen: set[str] = set()
    for path, value in said:
        if counts[str(value)] > 1 and str(value) in seen:
            yield Fault((*path, key), f"{str(value)!r} is already used above; each needs its own")
        seen.add(str(value))


def _tables(raw: Any, name: str) -> list[tuple[Path, dict[str, Any]]]:
    rows = raw.get(name, []) if isinstance(raw, dict) else []
    rows = rows if isinstance(rows, list) else []
    return [((name, index), row) for index, row in enumerate(rows) if isinstance(row, dict)]


def _words(path: Path) -> str:
    """("beats", 0, "pools", 3, "depth_m") as "beats 1, pools 4, depth_m"."""
    parts: list[str] = []
    for step in path:
        if isinstance(step, int) and parts:
            parts[-1] += f" {step + 1}"
        else:
            parts.append(str(step))
    return ", ".join(parts)


HEADER = re.compile(r"^\s*(\[{1,2})\s*([A-Za-z0-9_.\-]+)\s*\]{1,2}")
KEY = re.compile(r"^\s*([A-Za-z0-9_\-]+)\s*=")


def _lines(text: str) -> dict[Path, int]:
    """Where each table and key of a TOML text stands, by path; the first line that says it."""
    places: dict[Path, int] = {}
    counts: Counter[Path] = Counter()
    here: Path = ()
    for number, line in enumerate(text.splitlines(), start=1):
        if header := HEADER.match(line):
            here = ()
            names = header[2].split(".")
            for position, name in enumerate(names, start=1):
                here = (*here, name)
                if header[1] == "[[" and position == len(names):
                    counts[here] += 1
                if counts[here]:
                    here = (*here, counts[here] - 1)
            places.setdefault(here, number)
        elif key := KEY.match(line):
            places.setdefault((*here, key[1]), number)
    return places


def _line_of(places: dict[Path, int], path: Path) -> int | None:
    while path:
        for stands in (path, (*path, 0)):
            if stands in places:
                return places[stands]
        path = path[:-1]
    return None
