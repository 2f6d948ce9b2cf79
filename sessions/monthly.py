"""The statutory monthly table: fish by class and fate, and rod-days, month by month.

Classes and columns follow the published rod statistics (Marine Directorate, "Salmon and sea trout
fishery statistics, reported catch by district and method"): wild MSW and 1SW salmon, sea trout,
finnock, farmed MSW and 1SW, each as a number and a total weight in kg, retained and released.

A rod-day is one rod on one day, whatever the hours; days without a fish count; a month without
fishing is a stated zero (Topic Sheet 103: 2 rods on each of 10 days are 20 rod-days).
"""

import calendar
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from beats.shared.cells import safe_cell

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

    def add(self, fish: Fish) -> None:
        self.number += fish.number
        self.weight_kg += fish.weight_kg
        self.unweighed += fish.unweighed


@dataclass
class Month:
    """One month: a cell for every fate and class, zeros stated, and the rod-days."""

    month: int
    rod_days: int
    cells: dict[str, dict[str, Cell]] = field(
        default_factory=lambda: {fate: {kind: Cell() for kind in CLASSES} for fate in METHODS}
    )

    @property
    def name(self) -> str:
        return MONTHS[self.month - 1]


def table(fish: Iterable[Fish], *, rod_days: Mapping[int, int], months: Iterable[int]) -> list[Month]:
    """Every month of `months`, and any other that has fish or rod-days, in order; nothing left blank."""
    fish = list(fish)
    found = {*months, *(item.month for item in fish), *(month for month, days in rod_days.items() if days)}
    rows = {month: Month(month, rod_days.get(month, 0)) for month in sorted(found)}
    for item in fish:
        rows[item.month].cells[item.fate][item.kind].add(item)
    return list(rows.values())


def totals(rows: Iterable[Month]) -> tuple[int, dict[str, dict[str, Cell]]]:
    """The season's rod-days and cells."""
    cells: dict[str, dict[str, Cell]] = {fate: defaultdict(Cell) for fate in METHODS}
    days = 0
    for row in rows:
        days += row.rod_days
        for fate, kinds in row.cells.items():
            for kind, cell in kinds.items():
                cells[fate][kind].add(Fish(row.month, kind, fate, cell.number, cell.weight_kg, cell.unweighed))
    return days, {fate: {kind: kinds[kind] for kind in CLASSES} for fate, kinds in cells.items()}


def lines(rows: Iterable[Month], *, fishery: str, year: int) -> list[list[str]]:
    """The table as lines of text cells, a header first: one line a month and fate.

    Rod-days stand on the first line of their month only, so that adding the column up is right.
    """
    header = ["Fishery", "Method", "Year", "Month", "Month number"]
    for name in CLASSES.values():
        header += [f"{name} number", f"{name} weight (kg)"]
    made = [[*header, "Rod days"]]
    for row in rows:
        for fate, method in METHODS.items():
            line = [safe_cell(fishery), method, str(year), row.name, str(row.month)]
            for cell in row.cells[fate].values():
                line += [str(cell.number), f"{cell.weight_kg:.2f}"]
            made.append([*line, str(row.rod_days) if fate == FIRST_FATE else ""])
    return made
