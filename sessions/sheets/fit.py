"""Fitting text to paper: lines that fit a width, and the largest letters a table can have.

Widths and heights are points (1/72 inch). At two metres one reads letters of about 20 points; a full
house of rods cannot have them, so each table gets the largest that fit it (rule of thumb, no source).
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

from beats.shared.letters import ems, printable
from sessions.sheets.grid import Box, Grid

LARGEST, WHOLE_WORDS_DOWN_TO, SMALLEST = 22.0, 6.5, 2.5
LINE = 1.2
SIZES = [SMALLEST + 0.25 * n for n in range(int((LARGEST - SMALLEST) * 4) + 1)]
LEAD_SHARE = 0.42
"""The headings at the left take no more than this of the table's width."""


@dataclass(frozen=True)
class Fitted:
    """A table laid out: its letters' size, its columns and rows, and the lines of each box."""

    size: float
    widths: tuple[float, ...]
    heights: tuple[float, ...]
    lines: dict[tuple[int, int], list[str]]
    whole_words: bool

    @property
    def height(self) -> float:
        return sum(self.heights)


def padding(size: float) -> float:
    return max(0.6, size * 0.22)


def wrap(text: str, width: float, size: float, *, bold: bool = False, whole: bool = False) -> list[str] | None:
    """Lines no wider than `width`. A word too long is broken; with `whole`, None instead."""
    room = width / size + 1e-9
    lines, line = [], ""
    for word in printable(text).split(" "):
        longer = f"{line} {word}" if line else word
        if ems(longer, bold=bold) <= room:
            line = longer
            continue
        if line:
            lines.append(line)
        if whole and ems(word, bold=bold) > room:
            return None
        *full, line = _pieces(word, room, bold=bold)
        lines += full
    return [*lines, line]


def _pieces(word: str, room: float, *, bold: bool) -> list[str]:
    """A word cut into pieces that fit; at least a letter each."""
    pieces, piece, wide = [], "", 0.0
    for letter in word:
        more = ems(letter, bold=bold)
        if piece and wide + more > room:
            pieces.append(piece)
            piece, wide = "", 0.0
        piece += letter
        wide += more
    return [*pieces, piece]


def fit(grid: Grid, width: float, height: float) -> Fitted:
    """The table in the largest letters that fit; words stay whole unless that makes them tiny.

    A table too large for the paper even in the smallest letters is squeezed: rows are made even and
    the lines that do not fit are cut, with an ellipsis.
    """
    sizes = [size for size in SIZES if size >= WHOLE_WORDS_DOWN_TO]
    for whole, some in ((True, sizes), (False, SIZES)):
        if found := _largest(partial(_laid, grid, width, whole=whole), some, height):
            return _stretched(found, height)
    return _squeezed(grid, width, height)


def _largest(lay: Callable[[float], Fitted | None], sizes: list[float], height: float) -> Fitted | None:
    best, low, high = None, 0, len(sizes)
    while low < high:
        middle = (low + high) // 2
        laid = lay(sizes[middle])
        if laid is not None and laid.height <= height:
            best, low = laid, middle + 1
        else:
            high = middle
    return best


def _laid(grid: Grid, width: float, size: float, *, whole: bool) -> Fitted | None:
    pad = padding(size)
    widths = _widths(grid, width, size)
    lines: dict[tuple[int, int], list[str]] = {}
    known: dict[tuple[str, float, bool], list[str] | None] = {}  # a pool's name stands in many boxes
    for box in grid.boxes:
        room = max(sum(widths[box.column : box.column + box.columns]) - 2 * pad, size * 0.1)
        asked = (box.text, round(room, 6), box.head)
        if asked not in known:
            known[asked] = wrap(box.text, room, size, bold=box.head, whole=whole)
        wrapped = known[asked]
        if wrapped is None:
            return None
        lines[box.row, box.column] = wrapped
    return Fitted(size, widths, _heights(grid, lines, size), lines, whole)


def _widths(grid: Grid, width: float, size: float) -> tuple[float, ...]:
    """Headings as wide as they need, up to their share; the rest in equal columns."""
    wanted = [
        max(ems(printable(box.text), bold=True) * size for box in grid.boxes if box.column == column)
        + 2 * padding(size) + 0.1
        for column in range(grid.lead)
    ]  # fmt: skip
    cap = width * LEAD_SHARE / grid.lead
    lead = [min(want, cap) for want in wanted]
    body = grid.columns - grid.lead
    return (*lead, *([(width - sum(lead)) / body] * body))


def _heights(grid: Grid, lines: dict[tuple[int, int], list[str]], size: float) -> tuple[float, ...]:
    def tall(box: Box) -> float:
        return len(lines[box.row, box.column]) * size * LINE + 2 * padding(size)

    heights = [max(tall(box) for box in row if box.rows == 1) for row in _single(grid)]
    for box in grid.boxes:
        if box.rows > 1:
            last = box.row + box.rows - 1
            heights[last] += max(0.0, tall(box) - sum(heights[box.row : last + 1]))
    return tuple(heights)


def _single(grid: Grid) -> list[list[Box]]:
    return [[box for box in row if box.rows == 1] for row in grid.lines()]


def _stretched(laid: Fitted, height: float) -> Fitted:
    """Rows a little taller when the paper has room: easier to follow with a finger."""
    spare = min(max(0.0, height - laid.height) / len(laid.heights), laid.size * 1.2)
    heights = tuple(row + spare for row in laid.heights)
    return Fitted(laid.size, laid.widths, heights, laid.lines, laid.whole_words)


def _squeezed(grid: Grid, width: float, height: float) -> Fitted:
    laid = _laid(grid, width, SMALLEST, whole=False)
    if laid is None:  # only whole words can be refused
        raise AssertionError("a table without whole words can always be laid")
    row = height / grid.rows
    most = max(1, int((row - 2 * padding(SMALLEST)) / (SMALLEST * LINE)))
    spans = {(box.row, box.column): box.rows for box in grid.boxes}
    lines = {place: _cut(texts, most * spans[place]) for place, texts in laid.lines.items()}
    return Fitted(SMALLEST, laid.widths, (row,) * grid.rows, lines, whole_words=False)


def _cut(lines: list[str], most: int) -> list[str]:
    return lines if len(lines) <= most else [*lines[: most - 1], lines[most - 1][:-1] + "…"]
