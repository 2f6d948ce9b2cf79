"""Tables and words on A4, for the season's papers."""

import datetime as dt
from collections.abc import Sequence

from fpdf import FPDF

from beats.shared.letters import ems, printable
from beats.shared.pdf_fonts import add_fonts, add_scripts

FAMILY = "paper"
SHADE = 232
SIZE = 9.0
ROW = 14.0


class Printed(FPDF):
    """A4 pages with a line at the foot of each."""

    def __init__(self, *, title: str, foot: str, at: dt.datetime, on_its_side: bool = False) -> None:
        super().__init__(unit="pt", format="A4", orientation="landscape" if on_its_side else "portrait")
        self.foot = foot
        self.set_margins(40, 40)
        self.set_auto_page_break(auto=True, margin=50)
        self.set_creation_date(at.astimezone(dt.UTC))
        self.set_title(printable(title))
        self.set_lang("en-GB")
        add_fonts(self, FAMILY)
        add_scripts(self, printable(foot))
        self.add_page()
        self.heading(title, size=16)

    def footer(self) -> None:
        self.set_y(-34)
        self.set_font(FAMILY, "", 7.5)
        self.cell(self.epw - 60, 10, self._fitting(self.foot, self.epw - 60, 7.5))
        self.cell(60, 10, f"page {self.page_no()}", align="R")

    def heading(self, text: str, *, size: float = 12) -> None:
        self.set_font(FAMILY, "B", size)
        add_scripts(self, printable(text))
        self.multi_cell(self.epw, size * 1.4, printable(text), new_x="LMARGIN", new_y="NEXT")

    def words(self, text: str) -> None:
        self.set_font(FAMILY, "", SIZE)
        add_scripts(self, printable(text))
        self.multi_cell(self.epw, ROW * 0.9, printable(text) or " ", new_x="LMARGIN", new_y="NEXT")

    def grid(self, rows: Sequence[Sequence[str]], *, first: float = 70, bold_last: bool = False) -> None:
        """A table whose first row is its head; figures stand to the right."""
        add_scripts(self, *(printable(text) for row in rows for text in row))
        others = (self.epw - first) / max(len(rows[0]) - 1, 1)
        for number, row in enumerate(rows):
            heavy = number == 0 or (bold_last and number == len(rows) - 1)
            self.set_font(FAMILY, "B" if heavy else "", SIZE - 1)
            self.set_fill_color(SHADE)
            for place, text in enumerate(row):
                width = others if place else first
                shown = self._fitting(text, width - 6, SIZE - 1)
                self.cell(width, ROW, shown, border=1, align="R" if place else "L", fill=number == 0)
            self.ln(ROW)
        self.ln(6)

    @staticmethod
    def _fitting(text: str, width: float, size: float) -> str:
        """The text, cut where the cell ends."""
        shown = printable(text)
        while shown and ems(shown, bold=True) * size > width:
            shown = shown[:-1]
        return shown
