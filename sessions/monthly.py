"""The statutory monthly table: fish by class and fate, and rod-days, month by month.

Classes and columns follow the published rod statistics (Marine Directorate, "Salmon and sea trout
fishery statistics, reported catch by district and method"): wild MSW and 1SW salmon, sea trout,
finnock, farmed MSW and 1SW, each as a number and a total weight in kg, retained and released.

A rod-day is one rod on one day, whatever the hours; days without a fish count; a month without
fishing is a stated zero (Topic Sheet 103: 2 rods on each of 10 days are 20 rod-days). A month without a
record has no figures: they are empty, not zero (`sessions.month_records`).
"""

import calendar
from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from beats.shared.cells import safe_cell
from beats.shared.phrases import Phrase, say
from sessions.month_records import WORDS, Record

CLASSES = {
    "msw": "Wild MSW",
    "1sw": "Wild 1SW",
    "sea_trout": "Sea trout",
    "finnock": "Finnock",
    "farmed_msw": "Farmed MSW",
    "farmed_1sw": "Farmed 1SW",
}
METHODS = {"kept": "Rod: Retained", "released": "Rod: Released"}
FIRST_FATE = next(iter(METHODS))
MONTHS = tuple(calendar.month_name)[1:]


@dataclass(frozen=True)
class Fish:
    """Fish of one month, class and fate: how many, what the weighed ones weigh, how many were not."""

    month: int
    kind: str
    fate: str
    number: int
    weight_kg: Decimal
    unweighed: int = 0


@dataclass
class Cell:
    number: int = 0
    weight_kg: Decimal = Decimal(0)
    unweighed: int = 0

    @property
    def weighed(self) -> int:
        return self.number - self.unweighed

    @property
    def known_kg(self) -> Decimal | None:
        """What the weighed fish weigh together, kg; None where there are fish and none was weighed."""
        return self.weight_kg if self.weighed or not self.number else None

    @property
    def weight_words(self) -> Phrase:
        if self.known_kg is None:
            return say("not weighed")
        if self.unweighed:
            return say(
                "{kg} kg, {weighed} of {number} weighed",
                kg=self.known_kg, weighed=self.weighed, number=self.number,
            )  # fmt: skip
        return say("{kg} kg", kg=self.known_kg)

    def add(self, fish: Fish) -> None:
        self.number += fish.number
        self.weight_kg += fish.weight_kg
        self.unweighed += fish.unweighed


@dataclass
class Month:
    """One month: a cell for every fate and class, the rod-days (None: not known), and what is on record.

    `record` is a `Record`; "" in returns signed before months had one, whose figures stand as signed.
    """

    month: int
    rod_days: int | None
    cells: dict[str, dict[str, Cell]] = field(
        default_factory=lambda: {fate: {kind: Cell() for kind in CLASSES} for fate in METHODS}
    )

    record: str = ""
    seen_fished: bool = False

    @property
    def name(self) -> str:
        return MONTHS[self.month - 1]

    @property
    def recorded(self) -> bool:
        return self.record != Record.NO_RECORD

    @property
    def fished(self) -> bool | None:
        """None where that is not known."""
        known = {Record.NO_FISHING: False, Record.NONE_CAUGHT: True, Record.CAUGHT: True}
        return True if self.seen_fished else known.get(Record(self.record)) if self.record else None

    @property
    def known_cells(self) -> dict[str, dict[str, Cell]] | None:
        """None where there is no record."""
        return self.cells if self.recorded else None

    @property
    def record_words(self) -> str:
        return WORDS[Record(self.record)] if self.record else ""


def table(
    fish: Iterable[Fish],
    *,
    rod_days: Mapping[int, int | None],
    records: Mapping[int, str],
    fished: Collection[int] = (),
) -> list[Month]:
    """A row for each month of `records`, and for any other that has fish, in order. In months of `fished` rods or
    anglers are on record."""
    fish = list(fish)
    found = sorted({*records, *(item.month for item in fish)})
    rows = {
        month: Month(
            month, rod_days.get(month), record=records.get(month, Record.CAUGHT), seen_fished=month in fished
        )
        for month in found
    }
    for item in fish:
        rows[item.month].cells[item.fate][item.kind].add(item)
    return list(rows.values())


def totals(rows: Iterable[Month]) -> tuple[int | None, dict[str, dict[str, Cell]]]:
    """The rod-days of the months that have any on record, None where none has; and the cells of the season."""
    cells: dict[str, dict[str, Cell]] = {fate: defaultdict(Cell) for fate in METHODS}
    days: int | None = None
    for row in rows:
        if row.rod_days is not None:
            days = (days or 0) + row.rod_days
        for fate, kinds in row.cells.items():
            for kind, cell in kinds.items():
                cells[fate][kind].add(Fish(row.month, kind, fate, cell.number, cell.weight_kg, cell.unweighed))
    return days, {fate: {kind: kinds[kind] for kind in CLASSES} for fate, kinds in cells.items()}


def lines(rows: Iterable[Month], *, fishery: str, year: int) -> list[list[str]]:
    """The table as lines of text cells, a header first: one line a month and fate.

    The published columns first, then ours: rod-days, the fish of each class that were not weighed, and what is
    on record of the month. What is not known is an empty cell. Rod-days stand on the first line of their month
    only, so that adding the column up is right.
    """
    header = ["Fishery", "Method", "Year", "Month", "Month number"]
    for name in CLASSES.values():
        header += [f"{name} number", f"{name} weight (kg)"]
    made = [[*header, "Rod days", *(f"{name} not weighed" for name in CLASSES.values()), "Record"]]
    for row in rows:
        for fate, method in METHODS.items():
            line = [safe_cell(fishery), method, str(year), row.name, str(row.month)]
            cells = row.cells[fate].values()
            for cell in cells:
                line += _figures(cell) if row.recorded else ["", ""]
            line.append(str(row.rod_days) if fate == FIRST_FATE and row.rod_days is not None else "")
            line += [str(cell.unweighed) if row.recorded else "" for cell in cells]
            made.append([*line, str(row.record_words)])
    return made


def _figures(cell: Cell) -> list[str]:
    return [str(cell.number), "" if cell.known_kg is None else f"{cell.known_kg:.2f}"]
