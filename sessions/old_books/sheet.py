"""The cells of an old book, from CSV or XLSX, as they were written: a formula stays its own text."""

import csv
import datetime as dt
import io
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from beats.shared.refusals import Refusal
from beats.shared.workbooks import TooLargeWorkbook, open_workbook

MOST_ROWS = 100_000
LAST_ROW = MOST_ROWS + 20_000
"""Blank rows between the fish are read over; a row with a number in the millions would make as many of them."""
MOST_COLUMNS = 100
MOST_UNPACKED = 200 * 1024 * 1024
"""A workbook of that many bytes when it is unzipped; more is no catch book."""

Cell = str | Decimal | dt.date | dt.time | bool | None


class UnreadableBook(Refusal):
    """The file as a whole cannot be read; nothing was changed."""

    code = "unreadable-book"
    title = "The old book cannot be read"
    status = 400


@dataclass(frozen=True)
class Sheet:
    """The names in the first row, and the rows below it by their number in the file."""

    names: tuple[str, ...]
    rows: tuple[tuple[int, tuple[Cell, ...]], ...]


def read(data: bytes, *, sheet: str = "") -> Sheet:
    """The first sheet, or the one of that name. Rows without anything are left out. Raises UnreadableBook."""
    if not data:
        raise UnreadableBook("The file is empty. Send a CSV or XLSX file whose first row names the columns.")
    lines = _workbook(data, sheet) if data.startswith(b"PK") else _text(data)
    names: tuple[str, ...] = ()
    rows: list[tuple[int, tuple[Cell, ...]]] = []
    for number, cells in lines:
        if not any(cell not in (None, "") for cell in cells):
            continue
        if not names:
            names = _names(cells)
            continue
        if len(rows) == MOST_ROWS:
            raise UnreadableBook(f"The file has more than {MOST_ROWS} rows. Send it in parts, a season each.")
        rows.append((number, cells))
    if not rows:
        raise UnreadableBook("There is no row below the names of the columns. Nothing to bring in.")
    return Sheet(names, tuple(rows))


def _names(cells: tuple[Cell, ...]) -> tuple[str, ...]:
    names = tuple("" if cell is None else str(cell).strip() for cell in cells)
    given = [name.casefold() for name in names if name]
    if twice := sorted({name for name in given if given.count(name) > 1}):
        raise UnreadableBook(f"Two columns are called {twice[0][:40]!r}. Name each column once.")
    return names


def _text(data: bytes) -> Iterator[tuple[int, tuple[Cell, ...]]]:
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise UnreadableBook(
            "The file is neither XLSX nor UTF-8 text. Save it as CSV in UTF-8, or as XLSX."
        ) from None
    if "\0" in text:
        raise UnreadableBook("The file is no text: it holds NUL. Save it as CSV in UTF-8, or as XLSX.")
    head = text.lstrip().partition("\n")[0]
    comma = max(",;\t", key=head.count)
    lines = csv.reader(io.StringIO(text, newline=""), delimiter=comma, strict=True)
    try:
        for cells in lines:
            _not_too_wide(len(cells))
            yield lines.line_num, tuple(cell.strip() for cell in cells)
    except csv.Error as fault:
        raise UnreadableBook(f"Line {lines.line_num} is no CSV: {fault}. Save the file anew.") from None


def _workbook(data: bytes, name: str) -> Iterator[tuple[int, tuple[Cell, ...]]]:
    try:
        yield from _rows(open_workbook(data, most_unpacked=MOST_UNPACKED), name)
    except (UnreadableBook, GeneratorExit):
        raise
    except TooLargeWorkbook as fault:
        raise UnreadableBook(str(fault)) from None
    except Exception as fault:  # noqa: BLE001 - a broken workbook fails in as many ways as there are parts in it
        raise UnreadableBook(f"The workbook is broken ({type(fault).__name__}). Save it anew as XLSX.") from None


def _rows(book: Any, name: str) -> Iterator[tuple[int, tuple[Cell, ...]]]:
    if name and name not in book.sheetnames:
        raise UnreadableBook(f"There is no sheet {name[:40]!r}. There is: {', '.join(book.sheetnames)[:200]}.")
    sheet = book[name] if name else book.worksheets[0]
    sheet.reset_dimensions()  # what the file says of its own size may be wrong
    for number, cells in enumerate(
        sheet.iter_rows(max_row=LAST_ROW + 1, max_col=MOST_COLUMNS + 1, values_only=True), start=1
    ):
        if number > LAST_ROW:
            raise UnreadableBook(
                f"There are rows below row {LAST_ROW}. Delete the empty rows below the last fish."
            )
        _not_too_wide(len(cells) if len(cells) > MOST_COLUMNS and cells[-1] is not None else 0)
        if cells.count(None) == len(cells):
            yield number, ()
            continue
        width = max((place for place, value in enumerate(cells, start=1) if value is not None), default=0)
        yield number, tuple(_cell(value) for value in cells[:width])


def _cell(value: Any) -> Cell:
    """A cell as plain data. An array formula comes as a thing of its own, with its text inside."""
    if isinstance(value, bool | None):
        return value
    if isinstance(value, int | float):
        return Decimal(f"{value:.15g}")  # what a spreadsheet shows; the digits after are of its binary fractions
    if isinstance(value, dt.datetime):
        return value.date() if value.time() == dt.time() else value
    if isinstance(value, dt.date | dt.time):
        return value
    return str(getattr(value, "text", None) or value).strip()


def _not_too_wide(columns: int) -> None:
    if columns > MOST_COLUMNS:
        raise UnreadableBook(f"A row has more than {MOST_COLUMNS} cells. Send the columns that are needed.")
