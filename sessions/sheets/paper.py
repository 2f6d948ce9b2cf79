"""A sheet laid out on one A4 page: where every line of letters and every rule goes.

Points from the top left corner. The page is upright or on its side, whichever gives the table the
larger letters; when a full house leaves the table too little, all else is set smaller first.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from beats.shared.letters import all_there, ems
from sessions.sheets.fit import LINE, Fitted, fit, padding, wrap
from sessions.sheets.grid import Box, Grid, grid
from sessions.sheets.sheet import Sheet

SHORT_SIDE, LONG_SIDE = 595.28, 841.89
MARGIN = 28.0
GAP = 7.0
GOOD_SIZE = 11.0
SCALES = (1.0, 0.85, 0.7, 0.55, 0.42, 0.32)
NOT_ALL_LETTERS = "Letters that this print lacks stand without their marks or as ?: the screen has them all."


@dataclass(frozen=True)
class Write:
    """A line of letters; `y` is its base line."""

    x: float
    y: float
    text: str
    size: float
    bold: bool = False


@dataclass(frozen=True)
class Frame:
    x: float
    y: float
    width: float
    height: float
    thick: float = 0.5
    shaded: bool = False


@dataclass
class Paper:
    """A page and its marks. `scale` is what the text around the table was set down by."""

    width: float
    height: float
    scale: float
    table: Fitted
    grid: Grid
    marks: list[Write | Frame] = field(default_factory=list)

    @property
    def on_its_side(self) -> bool:
        return self.width > self.height


@dataclass(frozen=True)
class _Block:
    """Marks laid out from the top of the block, and its height."""

    marks: tuple[Write | Frame, ...]
    height: float


def lay_out(sheet: Sheet) -> Paper:
    """The best page for a sheet: large letters on the table first, then upright."""
    made = grid(sheet.turns)
    best: Paper | None = None
    for scale in SCALES:
        for width, height in ((SHORT_SIDE, LONG_SIDE), (LONG_SIDE, SHORT_SIDE)):
            page = _page(sheet, made, width, height, scale)
            if page and (best is None or page.table.size > best.table.size + 0.5):
                best = page
        if best and best.table.size >= GOOD_SIZE * scale:
            return best
    if best is None:
        raise ValueError("so long a text about the rota that no table fits on the page")
    return best


def _page(sheet: Sheet, made: Grid, width: float, height: float, scale: float) -> Paper | None:
    inside = width - 2 * MARGIN
    above = _stacked(_above(sheet, inside, scale), GAP * scale)
    below = _stacked(_below(sheet, inside, scale), GAP * scale)
    room = height - 2 * MARGIN - above.height - below.height - 2 * GAP
    if room < height * 0.2:
        return None
    table = fit(made, inside, room)
    page = Paper(width, height, scale, table, made)
    page.marks += _moved(above.marks, MARGIN, MARGIN)
    top = MARGIN + above.height + GAP
    page.marks += _moved(_table(made, table), MARGIN, top)
    page.marks += _moved(below.marks, MARGIN, height - MARGIN - below.height)
    return page


def _above(sheet: Sheet, width: float, scale: float) -> list[_Block]:
    status = _text([(sheet.status_words, 13.0, True)], width - 12, scale)
    warning = _text([(sheet.do_not_fish, 13.0, True)], width - 12, scale)
    return [
        _text([(sheet.title, 26.0, True), (sheet.subtitle, 12.5, False)], width, scale),
        _framed(status, width, 1.5),
        *([_framed(warning, width, 2.5)] if sheet.do_not_fish else []),
        _text([(sheet.meeting, 14.0, True), (sheet.hours, 12.5, False)], width, scale),
    ]


def _below(sheet: Sheet, width: float, scale: float) -> list[_Block]:
    across = 2 if width < SHORT_SIDE else 3
    card = _stacked(
        [
            _text([(sheet.danger, 17.0, True), (sheet.tell_them, 11.5, False)], width - 12, scale),
            _across(sheet.numbers, width - 12, across, 12.5 * scale, bold=True),
            _text([(sheet.footer, 10.0, False)], width - 12, scale),
        ],
        2.0 * scale,
    )
    note = () if all(all_there(text) for text in _texts(sheet)) else (NOT_ALL_LETTERS,)
    return [
        _across([day.line for day in sheet.days], width, across, 10.5 * scale),
        _text([(sheet.reasons, 10.5, False), (" ".join((*sheet.cautions, *note)), 10.5, False)], width, scale),
        _framed(card, width, 2.0),
    ]


def _texts(sheet: Sheet) -> Iterator[str]:
    """Every text that people wrote."""
    yield from (sheet.title, sheet.subtitle, sheet.meeting, *sheet.numbers)
    yield sheet.reasons
    for turn in sheet.turns:
        yield from (turn.part, turn.guest, turn.pool, turn.warning)


def _text(lines: Iterable[tuple[str, float, bool]], width: float, scale: float) -> _Block:
    """Texts one under the other: (text, size, bold)."""
    marks: list[Write | Frame] = []
    down = 0.0
    for text, size, bold in lines:
        if text:
            wrapped = wrap(text, width, size * scale, bold=bold) or []
            marks += [
                Write(0, down + _base_line(n, size * scale), line, size * scale, bold)
                for n, line in enumerate(wrapped)
            ]
            down += len(wrapped) * size * scale * LINE
    return _Block(tuple(marks), down)


def _base_line(number: int, size: float) -> float:
    """How far below the top of a text the letters of a line stand."""
    return (number * LINE + 1.05) * size


def _across(texts: Iterable[str], width: float, columns: int, size: float, *, bold: bool = False) -> _Block:
    """Texts in columns of their own height, the first column filled first."""
    texts = list(texts)
    rows = -(-len(texts) // columns)
    marks: list[Write | Frame] = []
    deepest = 0.0
    for column in range(columns):
        own = [(text, size, bold) for text in texts[column * rows : (column + 1) * rows]]
        block = _text(own, width / columns - size, 1)
        marks += _moved(block.marks, column * width / columns, 0)
        deepest = max(deepest, block.height)
    return _Block(tuple(marks), deepest)


def _stacked(blocks: Iterable[_Block], gap: float) -> _Block:
    marks: list[Write | Frame] = []
    down = 0.0
    for block in blocks:
        marks += _moved(block.marks, 0, down)
        down += block.height + gap
    return _Block(tuple(marks), down - gap)


def _framed(block: _Block, width: float, thick: float) -> _Block:
    inset = 4.0
    frame = Frame(0, 0, width, block.height + 2 * inset, thick)
    return _Block((frame, *_moved(block.marks, 6, inset)), block.height + 2 * inset)


def _moved(marks: Iterable[Write | Frame], x: float, y: float) -> list[Write | Frame]:
    return [
        Write(mark.x + x, mark.y + y, mark.text, mark.size, mark.bold)
        if isinstance(mark, Write)
        else Frame(mark.x + x, mark.y + y, mark.width, mark.height, mark.thick, mark.shaded)
        for mark in marks
    ]


def _table(made: Grid, laid: Fitted) -> list[Write | Frame]:
    marks: list[Write | Frame] = []
    for box in made.boxes:
        x, y = sum(laid.widths[: box.column]), sum(laid.heights[: box.row])
        width = sum(laid.widths[box.column : box.column + box.columns])
        height = sum(laid.heights[box.row : box.row + box.rows])
        frame = Frame(x, y, width, height, shaded=box.head)
        marks += [frame, *_in_box(box, laid, frame, centred=box.column >= made.lead)]
    wide, tall = sum(laid.widths), sum(laid.heights)
    edges = [sum(laid.heights[:row]) for row in sorted(made.day_rows)]
    marks += [Frame(0, edge, wide, 0, 1.8) for edge in edges]
    edges = [sum(laid.widths[:column]) for column in sorted(made.day_columns)]
    marks += [Frame(edge, 0, 0, tall, 1.8) for edge in edges]
    return [*marks, Frame(0, 0, wide, tall, 1.8)]


def _in_box(box: Box, laid: Fitted, frame: Frame, *, centred: bool) -> list[Write]:
    lines, size = laid.lines[box.row, box.column], laid.size
    top = frame.y + (frame.height - len(lines) * size * LINE) / 2
    marks = []
    for n, line in enumerate(lines):
        spare = frame.width - ems(line, bold=box.head) * size
        left = spare / 2 if centred else padding(size)
        marks.append(Write(frame.x + left, top + _base_line(n, size), line, size, box.head))
    return marks
