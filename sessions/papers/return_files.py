"""A return as XLSX and PDF, both from its snapshot, so that a signed one comes out the same for ever."""

import datetime as dt
import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from openpyxl import Workbook
from openpyxl.styles import Font

from beats.shared.cells import safe_cell
from sessions.monthly import CLASSES, METHODS, lines
from sessions.papers.printed import Printed
from sessions.snapshot import months_of

SHORT = dict(zip(CLASSES, ("MSW", "1SW", "Sea trout", "Finnock", "Farmed MSW", "Farmed 1SW"), strict=True))


@dataclass(frozen=True)
class Paper:
    """What is to be shown: a snapshot, how it stands, and what is to be looked at."""

    snapshot: Mapping[str, Any]
    standing: str
    findings: Sequence[str]
    at: dt.datetime


def xlsx(paper: Paper) -> bytes:
    """Two sheets: the table in the published columns, numbers as numbers, and the review list."""
    made, book = paper.snapshot, Workbook()
    sheet = book.active
    sheet.title = "Return"
    table = lines(months_of(made), fishery=made["fishery"], year=made["season"])
    for row in (table[0], *([_value(cell) for cell in line] for line in table[1:])):
        sheet.append(row)
    for cell in sheet[1]:
        cell.font = Font(bold=True)
    sheet.freeze_panes = "A2"
    looked = book.create_sheet("To look at")
    for text in (paper.standing, *paper.findings):
        looked.append([safe_cell(text)])
    book.properties.created = book.properties.modified = paper.at.astimezone(dt.UTC).replace(tzinfo=None)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def _value(cell: str) -> str | int | float | None:
    """A number where the cell is one. Weights have two digits, which a spreadsheet's number holds."""
    if not cell:
        return None
    try:
        return int(cell) if cell.isdigit() else float(cell)
    except ValueError:
        return cell


def pdf(paper: Paper) -> bytes:
    made = paper.snapshot
    title = f"{made['fishery']}: catch return {made['season']}"
    file = Printed(title=title, foot=f"{title}. {paper.standing}", at=paper.at, on_its_side=True)
    file.words(f"{paper.standing} District {made['district']}. This is a {made['state']} return.")
    file.words("Number and kilograms. A rod-day is one rod on one day, whatever the hours; blank days count.")
    for fate, method in METHODS.items():
        file.heading(method)
        file.grid(_rows(made, fate), bold_last=True)
    if paper.findings:
        file.heading("To look at")
        for text in paper.findings:
            file.words(text)
    return bytes(file.output())


def _rows(made: Mapping[str, Any], fate: str) -> list[list[str]]:
    head = ["Month"]
    for name in SHORT.values():
        head += [name, "kg"]
    rows = [[*head, "Rod-days"]]
    rows += [[row["name"], *_cells(row["catch"][fate]), str(row["rod_days"])] for row in made["months"]]
    return [*rows, ["Season", *_cells(made["totals"][fate]), str(made["rod_days"])]]


def _cells(kinds: Mapping[str, Any]) -> list[str]:
    return [text for kind in CLASSES for text in (str(kinds[kind]["number"]), kinds[kind]["weight_kg"])]
