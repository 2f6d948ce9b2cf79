"""The sheet as one HTML page to print: no script, nothing fetched, black on white."""

from django.template.loader import render_to_string

from beats.shared.both_ways import kept_apart
from sessions.sheets.paper import lay_out
from sessions.sheets.sheet import Sheet

OTHER_FONTS = 0.86
"""The reader's font may be wider than the one the page is measured with."""
ALMOST = 0.95
"""Of the height measured, so that a little more air between the lines does not begin a second page."""


def page(sheet: Sheet) -> str:
    """HTML with its own print style; everything people wrote is escaped by the template."""
    paper = lay_out(sheet)
    table = paper.table
    whole = sum(table.widths)
    html: str = render_to_string(
        "sheets/sheet.html",
        {
            "sheet": sheet,
            "lines": paper.grid.lines(),
            "head": paper.grid.head,
            "lead": paper.grid.lead,
            "day_columns": paper.grid.day_columns,
            "day_rows": paper.grid.day_rows,
            "columns": [f"{100 * width / whole:.3f}" for width in table.widths],
            "way": "landscape" if paper.on_its_side else "portrait",
            "height": f"{table.height * ALMOST:.1f}",
            "size": f"{table.size * OTHER_FONTS:.2f}",
            "text_size": f"{12 * paper.scale * OTHER_FONTS:.2f}",
            "across": 3 if paper.on_its_side else 2,
        },
    )
    return kept_apart(html)
