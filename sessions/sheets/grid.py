"""A rota's turns as a table: parts of days down and rods across, or turned when there are more rods."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from sessions.sheets.sheet import Turn, short

NOT_OUT = "\N{EN DASH}"
DO_NOT_FISH = "DO NOT FISH"
NOBODY = "None. Nobody is on this rota."
TOGETHER = "\N{NO-BREAK SPACE}"


@dataclass(frozen=True)
class Box:
    """A cell of the table, and how many rows and columns it takes."""

    text: str
    row: int
    column: int
    head: bool = False
    rows: int = 1
    columns: int = 1


@dataclass(frozen=True)
class Grid:
    """Boxes in reading order. The first `lead` columns and `head` rows are headings.

    A new day begins at each row of `day_rows` or column of `day_columns`.
    """

    boxes: tuple[Box, ...]
    rows: int
    columns: int
    head: int
    lead: int
    day_rows: frozenset[int] = frozenset()
    day_columns: frozenset[int] = frozenset()

    def lines(self) -> list[list[Box]]:
        """Row by row, the boxes that begin there."""
        found: dict[int, list[Box]] = defaultdict(list)
        for box in self.boxes:
            found[box.row].append(box)
        return [found[row] for row in range(self.rows)]


def grid(turns: Iterable[Turn]) -> Grid:
    """The table of a rota. A rod that is not out in a part has a dash there; a rota of nobody says so."""
    turns = list(turns)
    if not turns:
        return Grid((Box("Turns", 0, 0, head=True), Box(NOBODY, 0, 1)), rows=1, columns=2, head=0, lead=1)
    slots = sorted({(turn.day, turn.starts, turn.part) for turn in turns})
    rods = _rods(turns)
    cells: dict[tuple[int, int], list[str]] = defaultdict(list)
    slot_at = {slot: n for n, slot in enumerate(slots)}
    rod_at = {key: n for n, (key, _) in enumerate(rods)}
    for turn in turns:
        cells[slot_at[turn.day, turn.starts, turn.part], rod_at[_key(turn)]].append(_told(turn))
    text = {place: " / ".join(pools) for place, pools in cells.items()}
    days = [short(day) for day, _, _ in slots]
    parts = [part for _, _, part in slots]
    names = [name for _, name in rods]
    return _turned(days, parts, names, text) if len(rods) > len(slots) else _upright(days, parts, names, text)


def _told(turn: Turn) -> str:
    return f"{turn.pool}: {DO_NOT_FISH}" if turn.warning else turn.pool


def _key(turn: Turn) -> tuple[int, int]:
    """A named guest is one column whichever rods they had; an unnamed rod is its number."""
    return (0, turn.guest_key) if turn.guest_key is not None else (1, turn.rod)


def _rods(turns: list[Turn]) -> list[tuple[tuple[int, int], str]]:
    numbers: dict[tuple[int, int], set[int]] = defaultdict(set)
    names: dict[tuple[int, int], str] = {}
    for turn in turns:
        numbers[_key(turn)].add(turn.rod)
        names[_key(turn)] = turn.guest
    order = sorted(numbers, key=lambda key: (min(numbers[key]), key))
    return [(key, _heading(names[key], sorted(numbers[key]))) for key in order]


def _heading(name: str, numbers: list[int]) -> str:
    rods = "rod" if len(numbers) == 1 else "rods"
    which = f"{rods}{TOGETHER}{', '.join(map(str, numbers))}"
    return f"{name} ({which})" if name else which.capitalize()


def _runs(days: list[str]) -> list[tuple[int, int, str]]:
    """(first, how many, day) for each run of the same day."""
    starts = [n for n, day in enumerate(days) if n == 0 or days[n - 1] != day]
    return [
        (first, then - first, days[first]) for first, then in zip(starts, [*starts[1:], len(days)], strict=True)
    ]


def _upright(days: list[str], parts: list[str], names: list[str], text: dict[tuple[int, int], str]) -> Grid:
    boxes = [Box("Day", 0, 0, head=True), Box("Part", 0, 1, head=True)]
    boxes += [Box(name, 0, n + 2, head=True) for n, name in enumerate(names)]
    runs = {first: (count, day) for first, count, day in _runs(days)}
    for slot, part in enumerate(parts):
        if slot in runs:
            boxes.append(Box(runs[slot][1], slot + 1, 0, head=True, rows=runs[slot][0]))
        boxes.append(Box(part, slot + 1, 1, head=True))
        boxes += [Box(text.get((slot, n), NOT_OUT), slot + 1, n + 2) for n in range(len(names))]
    starts = frozenset(first + 1 for first in runs)
    return Grid(tuple(boxes), len(parts) + 1, len(names) + 2, head=1, lead=2, day_rows=starts)


def _turned(days: list[str], parts: list[str], names: list[str], text: dict[tuple[int, int], str]) -> Grid:
    boxes = [Box("Rod", 0, 0, head=True, rows=2)]
    runs = _runs(days)
    boxes += [Box(day, 0, first + 1, head=True, columns=count) for first, count, day in runs]
    boxes += [Box(part, 1, slot + 1, head=True) for slot, part in enumerate(parts)]
    for n, name in enumerate(names):
        boxes.append(Box(name, n + 2, 0, head=True))
        boxes += [Box(text.get((slot, n), NOT_OUT), n + 2, slot + 1) for slot in range(len(parts))]
    starts = frozenset(first + 1 for first, _, _ in runs)
    return Grid(tuple(boxes), len(names) + 2, len(parts) + 1, head=2, lead=1, day_columns=starts)
