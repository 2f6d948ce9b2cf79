"""A paper as PDF on A4, over as many pages as it takes, its letters carried inside."""

import datetime as dt
import io
from collections.abc import Iterable, Sequence

from fpdf import FPDF, XPos, YPos

from beats.shared.letters import ems, printable
from beats.shared.pdf_fonts import add_fonts, add_scripts
from bookings.papers.parts import Section

FAMILY, MARGIN, BODY, HEADING, TITLE, CODE_MM = "paper", 18, 10, 12, 16, 32
POINTS_PER_MM = 72 / 25.4
CELL_GAP = 4.0


class _Paper(FPDF):
    def footer(self) -> None:
        self.set_y(-14)
        self.set_font(FAMILY, "", 8)
        self.cell(0, 5, f"page {self.page_no()} of {{nb}}", align="R")


def pdf(title: str, sections: Iterable[Section], *, printed_at: dt.datetime, code: bytes | None = None) -> bytes:
    """The same bytes for the same paper. `code` is a PNG that stands beside the title."""
    file = _Paper(unit="mm", format="A4")
    file.set_creation_date(printed_at.astimezone(dt.UTC))
    file.set_title(printable(title))
    file.set_lang("en-GB")
    file.set_margins(MARGIN, MARGIN)
    file.set_auto_page_break(auto=True, margin=MARGIN)
    add_fonts(file, FAMILY)
    file.add_page()
    _head(file, title, code)
    for section in sections:
        _section(file, section)
    return bytes(file.output())


def _head(file: FPDF, title: str, code: bytes | None) -> None:
    if code:
        file.image(io.BytesIO(code), x=file.w - MARGIN - CODE_MM, y=MARGIN, w=CODE_MM)
    file.set_font(FAMILY, "B", TITLE)
    _say(file, title, 8, width=file.epw - (CODE_MM + 4 if code else 0))
    if code:
        file.set_y(max(file.get_y(), MARGIN + CODE_MM + 2))


def _section(file: FPDF, section: Section) -> None:
    if file.will_page_break(20):
        file.add_page()
    file.ln(2)
    file.set_font(FAMILY, "B", HEADING)
    _say(file, section.heading, 6)
    file.set_font(FAMILY, "", BODY)
    for line in section.lines:
        _say(file, line, 5)
    if section.table:
        _table(file, section.table, section.wide)


def _table(file: FPDF, table: Sequence[Sequence[str]], wide: int) -> None:
    """Columns as wide as their longest cell; the wide one takes what is left and may fold."""
    columns = list(zip(*table, strict=True))
    widths = [
        max(ems(printable(cell), bold=True) for cell in cells) * BODY / POINTS_PER_MM + CELL_GAP
        for cells in columns
    ]
    widths[wide] = file.epw - sum(width for n, width in enumerate(widths) if n != wide)
    add_scripts(file, *(printable(cell) for cells in table for cell in cells))
    with file.table(col_widths=widths, width=file.epw, line_height=5, first_row_as_headings=True) as made:
        for cells in table:
            row = made.row()
            for cell in cells:
                row.cell(printable(cell))


def _say(file: FPDF, text: str, height: float, *, width: float = 0) -> None:
    add_scripts(file, printable(text))
    file.multi_cell(width, height, printable(text), align="L", new_x=XPos.LMARGIN, new_y=YPos.NEXT)
