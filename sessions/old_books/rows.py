"""From rows of cells to fish and monthly totals. A row with a fault makes none."""

import datetime as dt
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import TypeVar

from sessions.monthly import CLASSES
from sessions.old_books import figures
from sessions.old_books.figures import Fault, shown
from sessions.old_books.plan import KINDS, MONTHLY, Plan, places
from sessions.old_books.sheet import Cell, Sheet
from sessions.plausible import impossible

T = TypeVar("T")
EARLIEST = 1950
CHOICES = {
    "kind": KINDS, "fate": ("kept", "released"), "method": ("fly", "spinner", "bait", "other"),
    "sex": ("cock", "hen"), "month": tuple(str(number) for number in range(1, 13)),
}  # fmt: skip
LONGEST = {"fly": 80, "note": 300, "beat": 120, "pool": 120}


@dataclass(frozen=True)
class OldFish:
    """One fish of an old book. Beat and pool are as the book calls them."""

    row: int
    caught_on: dt.date
    time: dt.time | None
    kind: str
    fate: str
    beat: str = ""
    pool: str = ""
    weight_kg: Decimal | None = None
    length_cm: Decimal | None = None
    fly: str = ""
    method: str = ""
    sex: str = ""
    note: str = ""


@dataclass(frozen=True)
class OldMonth:
    """Fish of one month, class and fate of an old book; the weight is None where none is given."""

    row: int
    season: int
    month: int
    kind: str
    fate: str
    number: int
    weight_kg: Decimal | None


@dataclass(frozen=True)
class RowFault:
    """What is wrong: the row as the file counts it, the field, and what to do."""

    row: int
    field: str
    sentence: str


Made = OldFish | OldMonth


def read_rows(sheet: Sheet, plan: Plan, *, today: dt.date) -> tuple[list[Made], list[RowFault]]:
    """What every row says. Raises WrongMapping."""
    where = places(plan, sheet)
    read: Callable[[_Row], Iterator[Made]] = _months if plan.what == MONTHLY else _fish
    made: list[Made] = []
    faults: list[RowFault] = []
    for number, cells in sheet.rows:
        row = _Row(number, cells, where, plan, today)
        found = list(read(row))
        if row.faults:
            faults += row.faults
        else:
            made += found
    return made, faults


class _Row:
    """One row: cells by field, and the faults met so far."""

    def __init__(
        self, number: int, cells: tuple[Cell, ...], where: Mapping[str, int], plan: Plan, today: dt.date
    ) -> None:
        self.number, self.cells, self.where, self.plan, self.today = number, cells, where, plan, today
        self.faults: list[RowFault] = []

    def cell(self, name: str) -> Cell:
        if (place := self.where.get(name)) is not None:
            return self.cells[place] if place < len(self.cells) else None
        return self.plan.fixed.get(name)

    def fault(self, name: str, sentence: str) -> None:
        self.faults.append(RowFault(self.number, name, sentence))

    def figure(self, name: str, read: Callable[[Cell], T]) -> T | None:
        """None where the cell is empty or wrong."""
        cell = self.cell(name)
        if cell is None or cell == "":
            return None
        try:
            return read(cell)
        except Fault as fault:
            self.fault(name, str(fault))
            return None

    def needed(self, name: str, read: Callable[[Cell], T]) -> T | None:
        if self.cell(name) in (None, ""):
            self.fault(name, "The cell is empty. Fill it in, or leave the row out.")
        return self.figure(name, read)

    def word(self, name: str) -> str:
        return self.figure(name, lambda cell: self.meaning(name, cell)) or ""

    def meaning(self, name: str, cell: Cell) -> str:
        text = shown(cell)
        meant = self.plan.meaning(name, text) or (text if text in CHOICES[name] else None)
        if meant not in CHOICES[name]:
            raise Fault(f"Nobody said what {text[:30]!r} means. Say in words.{name}: one of {_listed(name)}.")
        return meant

    def text(self, name: str) -> str:
        told = shown(self.cell(name)).replace("\0", "")
        if len(told) > LONGEST[name]:
            self.fault(name, f"{len(told)} letters are too many: {LONGEST[name]} at most. Shorten it.")
        return told


def _listed(name: str) -> str:
    return ", ".join(CHOICES[name])


def _fish(row: _Row) -> Iterator[OldFish]:
    plan = row.plan
    caught_on = row.needed("caught_on", lambda cell: _past(figures.day(cell, plan.dates), row.today))
    kind = row.needed("kind", lambda cell: row.meaning("kind", cell))
    fate = row.needed("fate", lambda cell: row.meaning("fate", cell))
    weight = row.figure("weight", lambda cell: figures.weight(cell, plan.weight_unit))
    length = row.figure("length", lambda cell: figures.length(cell, plan.length_unit))
    if wall := impossible(weight, length):
        row.fault("length", wall)
    time = row.figure("time", figures.time)
    texts = {name: row.text(name) for name in ("beat", "pool", "fly", "note")}
    words = {name: row.word(name) for name in ("method", "sex")}
    if caught_on and kind and fate:
        yield OldFish(
            row.number, caught_on, time, kind, fate, weight_kg=weight, length_cm=length, **texts, **words
        )


def _past(day: dt.date, today: dt.date) -> dt.date:
    if day > today:
        raise Fault(f"{day} is still to come. Check the date.")
    _of_the_age(day.year)
    return day


def _of_the_age(year: int) -> None:
    if year < EARLIEST:
        raise Fault(f"{year} is before {EARLIEST}, where this book begins. Leave the row out.")


def _months(row: _Row) -> Iterator[OldMonth]:
    season = row.needed("season", lambda cell: _season(cell, row.today))
    month = row.needed("month", lambda cell: int(row.meaning("month", cell)))
    fate = row.needed("fate", lambda cell: row.meaning("fate", cell))
    if season == row.today.year and month and month > row.today.month:
        row.fault("month", "That month is still to come. Check it.")
    for kind, number, weight in _classes(row):
        if number is not None and season and month and fate:
            yield OldMonth(row.number, season, month, kind, fate, number, weight)


def _season(cell: Cell, today: dt.date) -> int:
    year = figures.count(cell)
    if year > today.year:
        raise Fault(f"{year} is still to come. Check the year.")
    _of_the_age(year)
    return year


def _classes(row: _Row) -> Iterator[tuple[str, int | None, Decimal | None]]:
    if "number" in row.where or "number" in row.plan.fixed:
        kind = row.needed("kind", lambda cell: _counted(row.meaning("kind", cell)))
        number = row.needed("number", figures.count)
        yield kind or "", number, _total(row, "weight", number)
        return
    for kind in CLASSES:
        if f"{kind}_number" in row.where:
            number = row.figure(f"{kind}_number", figures.count)
            yield kind, number, _total(row, f"{kind}_weight", number)


def _counted(kind: str) -> str:
    if kind not in CLASSES:
        raise Fault(f"{kind} is noted and never counted: a monthly total has none. Leave the row out.")
    return kind


def _total(row: _Row, name: str, number: int | None) -> Decimal | None:
    """The weight of so many fish; nothing and nought are the same where there is no fish."""
    if number == 0 and row.figure(name, figures.number) == 0:
        return None
    weight = row.figure(
        name, lambda cell: figures.weight(cell, row.plan.weight_unit, most=60 * max(number or 0, 1))
    )
    wrong = number is None and row.cell(name.replace("weight", "number")) not in (None, "")  # told already
    if weight is not None and not number and not wrong:
        row.fault(name, "A weight without a fish. Give the number, too.")
    return weight
