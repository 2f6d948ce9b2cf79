"""Old books for tests, as files. Everything is invented."""

import io
import json

from django.core.files.uploadedfile import SimpleUploadedFile
from openpyxl import Workbook

FISH = {
    "caught_on": "Date",
    "kind": "Species",
    "fate": "K/R",
    "weight": "Wt",
    "length": "Len",
    "fly": "Fly",
    "pool": "Pool",
}
WORDS = {"kind": {"Salmon": "msw", "Gr.": "1sw", "ST": "sea_trout"}, "fate": {"K": "kept", "R": "released"}}
PLAN = {"what": "fish", "columns": FISH, "words": WORDS}
HEAD = tuple(FISH.values())
LONG = {"season": "Year", "month": "Month", "kind": "Class", "fate": "Fate", "number": "No", "weight": "Kg"}
MONTHS = {"what": "months", "columns": LONG}
MONTH_HEAD = tuple(LONG.values())


def csv_of(*rows, head=HEAD):
    return "\r\n".join(",".join(map(str, row)) for row in (head, *rows)).encode()


def xlsx_of(*rows, head=HEAD, sheet="Book"):
    book = Workbook()
    book.active.title = sheet
    for row in (head, *rows):
        book.active.append(row)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def form(data, plan=None, name="old.csv"):
    """The form a program sends."""
    return {"file": SimpleUploadedFile(name, data), "plan": json.dumps(plan or PLAN)}
