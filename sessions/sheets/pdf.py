"""The sheet as a PDF of one A4 page, its letters carried inside."""

import datetime as dt

from fpdf import FPDF

from beats.shared.letters import scripts_of
from beats.shared.pdf_fonts import add_fonts, add_scripts
from sessions.sheets.paper import Frame, Paper, Write, lay_out
from sessions.sheets.sheet import Sheet

FAMILY = "sheet"
SHADE = 232


def pdf(sheet: Sheet) -> bytes:
    """The same bytes for the same sheet."""
    paper = lay_out(sheet)
    file = FPDF(unit="pt", format="A4", orientation="landscape" if paper.on_its_side else "portrait")
    file.set_auto_page_break(auto=False)
    file.c_margin = 0
    file.set_creation_date(sheet.printed_at.astimezone(dt.UTC))
    file.set_title(f"{sheet.title}, week of {sheet.first_on}, version {sheet.version}")
    file.set_lang("en-GB")
    add_fonts(file, FAMILY)
    file.add_page()
    _draw(file, paper)
    return bytes(file.output())


def _draw(file: FPDF, paper: Paper) -> None:
    for mark in paper.marks:
        if isinstance(mark, Frame):
            _frame(file, mark)
        elif isinstance(mark, Write) and mark.text:
            file.set_font(FAMILY, "B" if mark.bold else "", mark.size)
            _write(file, mark)


def _write(file: FPDF, mark: Write) -> None:
    """`text` knows one font alone; a cell's base line is 0.8 of the size below its top (fpdf2)."""
    if not scripts_of(mark.text):
        file.text(mark.x, mark.y, mark.text)
        return
    add_scripts(file, mark.text)
    file.set_xy(mark.x, mark.y - 0.8 * mark.size)
    file.cell(0, mark.size, mark.text)


def _frame(file: FPDF, frame: Frame) -> None:
    file.set_line_width(frame.thick)
    if not (frame.width and frame.height):
        file.line(frame.x, frame.y, frame.x + frame.width, frame.y + frame.height)
        return
    file.set_fill_color(SHADE)
    file.rect(frame.x, frame.y, frame.width, frame.height, style="DF" if frame.shaded else "D")
