"""A return as XLSX and PDF, both from its snapshot, so that a signed one comes out the same for ever."""

import datetime as dt
import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from openpyxl import Workbook
from openpyxl.styles import Font

from beats.shared.cells import safe_cell
from sessions.models import Return
from sessions.month_records import Record
from sessions.monthly import CLASSES, METHODS, Cell, Month, lines, totals
from sessions.papers.printed import Printed
from sessions.returns import SeasonReturn
from sessions.snapshot import months_of

SHORT = dict(zip(CLASSES, ("MSW", "1SW", "Sea trout", "Finnock", "Farmed MSW", "Farmed 1SW"), strict=True))


WHAT_IT_IS = "The fishery's own record of its season. The official return form governs."


@dataclass(frozen=True)
class Paper:
    """What is to be shown: a snapshot, how it stands, what is to be looked at, and its signature by label."""

    snapshot: Mapping[str, Any]
    standing: str
    findings: Sequence[str]
    at: dt.datetime
    signature: Mapping[str, str] = field(default_factory=dict)


def of_book(made: SeasonReturn, standing: str, *, at: dt.datetime) -> Paper:
    """The return as the book stands."""
    return Paper(made.snapshot, standing, [_asked(vars(one)) for one in made.findings], at)


def of_signed(signed: Return, standing: str) -> Paper:
    """A version as it was signed, the same for ever."""
    signature = {
        "Signed by": signed.signer_name,
        "Capacity": signed.get_signer_capacity_display(),
        "Address": signed.signer_address,
        "Date": f"{signed.signed_at:%d %B %Y}",
        "Declaration": signed.declaration,
    }
    findings = [_asked(each) for each in signed.findings]
    return Paper(signed.snapshot, standing, findings, signed.signed_at, signature if signed.signer_name else {})


def _asked(finding: Mapping[str, Any]) -> str:
    reply = finding.get("answer")
    return f"{finding['sentence']} Answer: {reply}" if reply else str(finding["sentence"])


def xlsx(paper: Paper) -> bytes:
    """The table in the published columns, numbers as numbers; the review list; the signature, if there is one."""
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
    for text in (paper.standing, WHAT_IT_IS, *paper.findings):
        looked.append([safe_cell(text)])
    if paper.signature:
        signed = book.create_sheet("Signature")
        for label, text in paper.signature.items():
            signed.append([label, safe_cell(text)])
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
    state = NOT_KNOWN if made["state"] == "no_record" else f"This is a {made['state']} return."
    file.words(f"{paper.standing} District {made['district']}. {state}")
    file.words(f"{WHAT_IT_IS} Number and kilograms. An empty cell is not known.")
    file.words("A rod-day is one rod on one day, whatever the hours; blank days count.")
    months = months_of(made)
    days, sums = totals(months)
    for fate, method in METHODS.items():
        file.heading(method)
        file.grid(grid_of(months, fate, (days, sums[fate])), first=MONTH_WIDTH, bold_last=True)
        for text in weight_notes(months, fate):
            file.words(text)
    if paper.findings:
        file.heading("To look at")
        for text in paper.findings:
            file.words(text)
    if paper.signature:
        file.heading("Signature")
        for label, text in paper.signature.items():
            file.words(f"{label}: {', '.join(text.splitlines())}")
    return bytes(file.output())


NOT_KNOWN = "There is no record of every month, so it is no return yet."
MONTH_WIDTH = 92
NOTED: Mapping[str, str] = {
    Record.NO_RECORD: ": no record", Record.NO_FISHING: ": no fishing", Record.NONE_CAUGHT: ": none caught",
}  # fmt: skip


def grid_of(
    months: Sequence[Month], fate: str, season: tuple[int | None, Mapping[str, Cell]], *, rod_days: bool = True
) -> list[list[str]]:
    """The table of one fate for print, a head first and the season last; what is not known is left empty."""
    head = ["Month", *(text for name in SHORT.values() for text in (name, "kg"))]
    rows = [
        [
            f"{row.name}{NOTED.get(Record(row.record), '') if row.record else ''}",
            *_cells(row.cells[fate], row.recorded),
        ]
        for row in months
    ]
    days = [row.rod_days for row in months]
    recorded = [row for row in months if row.recorded]
    name = "Season" if len(recorded) == len(months) else f"{len(recorded)} of {len(months)} months"
    rows.append([name, *_cells(season[1], bool(recorded))])
    if rod_days:
        head.append("Rod-days")
        for row, number in zip(rows, [*days, season[0]], strict=True):
            row.append("" if number is None else str(number))
    return [head, *rows]


def _cells(kinds: Mapping[str, Cell], recorded: bool) -> list[str]:
    if not recorded:
        return [""] * (2 * len(CLASSES))
    return [text for kind in CLASSES for text in (str(kinds[kind].number), _weight(kinds[kind]))]


def _weight(cell: Cell) -> str:
    if cell.known_kg is None:
        return "not weighed"
    return f"{cell.known_kg:.2f}{'*' if cell.unweighed else ''}"


def weight_notes(months: Sequence[Month], fate: str) -> list[str]:
    """What each star in `grid_of` stands for: a weight that leaves fish out."""
    cells = [(row, kind, row.cells[fate][kind]) for row in months if row.recorded for kind in CLASSES]
    return [
        f"* {row.name}, {CLASSES[kind]}: {cell.known_kg:.2f} kg is the weight of {cell.weighed} of {cell.number} "
        f"fish; {cell.unweighed} not weighed."
        for row, kind, cell in cells
        if cell.unweighed and cell.known_kg is not None
    ]
