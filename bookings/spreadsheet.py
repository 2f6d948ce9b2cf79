"""An owner's spreadsheet of lets, CSV or XLSX, read into rows; every fault is named by its row.

A cell is what it says: a formula in a name is text, never worked out. Dates are 2027-05-04 or
04/05/2027, the day first, as in Britain; in XLSX a date cell is a date.
"""

import csv
import datetime as dt
import io
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from beats.phones import e164
from beats.shared.refusals import Refusal
from beats.shared.workbooks import TooLargeWorkbook, open_workbook

MAX_ROWS = 1000
MAX_COLUMNS = 40
MAX_UNPACKED = 32 * 1024 * 1024
REQUIRED = ("guest", "beat", "first day", "rods")
OPTIONAL = ("last day", "email", "phone", "kind")
KINDS = {"": "day", "day": "day", "days": "day", "week": "week", "whole beat": "whole_beat"}
EMAIL = re.compile(r"(?<![^@\s])[^@\s]+@[^@\s.]+(?:\.[^@\s.]+)+")
Cell = str | int | float | bool | dt.date | dt.datetime | dt.time | dt.timedelta | None


class BadFile(Refusal):
    """The file cannot be read as a table of lets."""

    code = "bad-file"
    title = "This file cannot be read"
    status = 400


@dataclass(frozen=True)
class Fault:
    """What is wrong with a row, by its number in the file (the heading is row 1)."""

    row: int
    column: str
    text: str


@dataclass(frozen=True)
class LetRow:
    """One row: who has how many rods of which beat, on which days."""

    row: int
    guest: str
    email: str
    phone: str
    beat: str
    first_on: dt.date
    last_on: dt.date
    rods: int
    kind: str


def read(body: bytes, *, xlsx: bool) -> tuple[list[LetRow], list[Fault]]:
    """Rows that can be read, and the faults of those that cannot. Raises BadFile for no table at all."""
    table = _xlsx(body) if xlsx else _csv(body)
    heading = next(table, None)
    if heading is None:
        raise BadFile("The file is empty. Its first row names the columns: guest, beat, first day, rods.")
    columns = _columns(heading)
    rows: list[LetRow] = []
    faults: list[Fault] = []
    for number, cells in enumerate(table, start=2):
        if number - 1 > MAX_ROWS:
            raise BadFile(f"The file has more than {MAX_ROWS} rows. Send it in parts.")
        named = dict(zip(columns, cells, strict=False))
        if all(_text(cell) == "" for cell in named.values()):
            continue
        if any(_text(cell) for cell in cells[len(columns) :]):
            faults.append(Fault(number, "", "More cells than row 1 names columns. Put quotes round commas."))
            continue
        row = _Reader(number, named).row()
        rows += [row] if isinstance(row, LetRow) else []
        faults += row if isinstance(row, list) else []
    return rows, faults


def _csv(body: bytes) -> Iterator[list[Cell]]:
    try:
        text = body.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise BadFile("The file is not UTF-8 text. Save it as CSV (UTF-8) or as XLSX.") from None
    if "\0" in text:
        raise BadFile("The file holds bytes that are no text. Save it as CSV (UTF-8) or as XLSX.")
    delimiter = ";" if text.split("\n", 1)[0].count(";") > text.split("\n", 1)[0].count(",") else ","
    lines = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    try:
        for line in lines:
            cells: list[Cell] = [*line]
            yield cells
    except csv.Error as fault:
        raise BadFile(f"The file is not CSV we can read: {fault}. Save it again from the spreadsheet.") from None


def _xlsx(body: bytes) -> Iterator[list[Cell]]:
    try:
        return iter(_lines(body))
    except TooLargeWorkbook as fault:
        raise BadFile(str(fault)) from None
    except Exception as fault:
        # A stranger's archive can be broken in every way there is.
        raise BadFile("The file is not an XLSX workbook we can read. Save it again, or as CSV (UTF-8).") from fault


def _lines(body: bytes) -> list[list[Cell]]:
    sheet = open_workbook(body, most_unpacked=MAX_UNPACKED).worksheets[0]
    sheet.reset_dimensions()  # written by the file itself, and believed by nobody
    return [list(line) for line in sheet.iter_rows(values_only=True, max_row=MAX_ROWS + 2, max_col=MAX_COLUMNS)]


def _columns(heading: Iterable[Cell]) -> list[str]:
    heading = list(heading)
    if len(heading) > MAX_COLUMNS:
        raise BadFile(f"Row 1 has more than {MAX_COLUMNS} cells. Keep only the columns of lets.")
    names = [" ".join(_text(cell).lower().replace("_", " ").split())[:40] for cell in heading]
    while names and not names[-1]:
        names.pop()
    known = (*REQUIRED, *OPTIONAL)
    unknown = [name or "(no name)" for name in names if name not in known]
    missing = [name for name in REQUIRED if name not in names]
    if unknown or missing or len(set(names)) < len(names):
        told = [f"unknown: {', '.join(unknown)}"] if unknown else []
        told += [f"missing: {', '.join(missing)}"] if missing else []
        told += ["a column is named twice"] if len(set(names)) < len(names) else []
        raise BadFile(f"Columns in row 1: {'; '.join(told)}. Known columns: {', '.join(known)}.")
    return names


def _text(cell: Cell) -> str:
    if cell is None:
        return ""
    if isinstance(cell, float) and cell.is_integer():
        cell = int(cell)
    return str(cell).strip()


class _Reader:
    """Reads one row's cells; collects faults instead of stopping at the first."""

    def __init__(self, number: int, cells: Mapping[str, Cell]) -> None:
        self.number = number
        self.cells = cells
        self.faults: list[Fault] = []

    def row(self) -> LetRow | list[Fault]:
        first_on = self._day("first day")
        last_on = self._day("last day") if _text(self.cells.get("last day")) else first_on
        guest, beat = self._words("guest"), self._words("beat")
        email, phone, rods, kind = self._email(), self._phone(), self._rods(), self._kind()
        if self.faults or first_on is None or last_on is None:
            return self.faults
        return LetRow(self.number, guest, email, phone, beat, first_on, last_on, rods, kind)

    def _fault(self, column: str, text: str) -> None:
        self.faults.append(Fault(self.number, column, text))

    def _words(self, column: str) -> str:
        text = _text(self.cells.get(column))
        if not text:
            self._fault(column, f"No {column} is given.")
        elif len(text) > 120 or not text.isprintable():
            self._fault(column, "Longer than 120 letters, or not on one line.")
        return " ".join(text.split())

    def _day(self, column: str) -> dt.date | None:
        cell = self.cells.get(column)
        day = _as_day(cell)
        if day is None:
            self._fault(column, _no_formula(cell) or f"{_text(cell) or 'nothing'} is no date. Write 2027-05-04.")
        elif not 1950 <= day.year <= 2200:
            self._fault(column, f"The year {day.year} is not of this age.")
            return None
        return day

    def _rods(self) -> int:
        cell = self.cells.get("rods")
        text = _text(cell)
        if text.isascii() and text.isdigit() and 1 <= int(text[:9]) <= 60:
            return int(text)
        self._fault("rods", _no_formula(cell) or f"{text or 'nothing'} is no number of rods. Write 1 to 60.")
        return 0

    def _email(self) -> str:
        text = _text(self.cells.get("email")).lower()
        if text and (len(text) > 254 or not EMAIL.fullmatch(text) or text.startswith(("=", "+", "-"))):
            self._fault("email", f"{text} is no e-mail address. Correct it or leave the cell empty.")
        return text

    def _phone(self) -> str:
        text = _text(self.cells.get("phone"))
        if not text:
            return ""
        try:
            return e164(text)
        except ValueError as fault:
            self._fault("phone", str(fault))
            return ""

    def _kind(self) -> str:
        text = " ".join(_text(self.cells.get("kind")).lower().replace("_", " ").split())
        if text not in KINDS:
            self._fault("kind", f"{text} is no kind of let. Write day, week or whole beat, or leave it empty.")
        return KINDS.get(text, "")


def _as_day(cell: Cell) -> dt.date | None:
    if isinstance(cell, dt.datetime):
        return cell.date()
    if isinstance(cell, dt.date):
        return cell
    for form in ("%Y-%m-%d", "%d/%m/%Y"):
        try:
            return dt.datetime.strptime(_text(cell), form).date()
        except ValueError:
            continue
    return None


def _no_formula(cell: Cell) -> str:
    return "This is a formula. Write the value itself." if _text(cell).startswith("=") else ""
