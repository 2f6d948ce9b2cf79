"""Opens an XLSX workbook that a stranger sent, if it is no larger than its reading can take. Pure.

A workbook is a zip of XML parts. A few kB can unpack to many MB, and openpyxl turns each XML element into objects,
also in its read-only mode. So before it is asked, the parts are unpacked piece by piece and counted: bytes, and
tags, which bound the elements, cells, rows and strings. What is allowed grows with the size of the file, so that
the time does, too. Measured on two cores of 2026, openpyxl takes 2 to 10 microseconds a tag.

Office Open XML, ECMA-376: parts and their names, and at most 1,048,576 rows by 16,384 columns in a sheet.
"""

import io
import re
import zipfile
from dataclasses import dataclass
from typing import Any

from openpyxl import load_workbook

PIECE = 1 << 16
MOST_PARTS = 1000
STRINGS = re.compile(r"sharedstrings", re.IGNORECASE)
SHEETS = re.compile(r"(?:^|/)worksheets/[^/]*$", re.IGNORECASE)
XML = (b"<", b"\xef\xbb\xbf<", b"\xff\xfe", b"\xfe\xff")
"""How a part of XML begins: with a tag, a byte order mark before it, or in UTF-16. No other encoding is read."""


@dataclass(frozen=True)
class Allowance:
    """So much at least, and so much more for each byte of the packed file."""

    least: int
    each_byte: float

    def of(self, packed: int) -> int:
        return int(self.least + self.each_byte * packed)


UNPACKED = Allowance(4 * 1024 * 1024, 60)
"""Bytes. Sheets of plain figures pack to about a tenth (measured with openpyxl's own files)."""
SHEET_TAGS = Allowance(120_000, 4)
"""A cell has four: `<c><v>1</v></c>`. A sheet of plain figures has one or two for each packed byte."""
STRING_TAGS = Allowance(40_000, 1)
OTHER_TAGS = Allowance(15_000, 0.05)
"""Formats, names and the list of parts: what people write has a few thousand."""

ADVICE = "Copy the rows that are needed into a new workbook and send that, or save the sheet as CSV (UTF-8)."


class TooLargeWorkbook(ValueError):
    """More in it than is read; the text says what to do."""


def open_workbook(data: bytes, *, most_unpacked: int) -> Any:
    """The workbook, for reading row by row, formulas as they are written.

    `most_unpacked` is in bytes, whatever the size of the file. Raises TooLargeWorkbook; and whatever zipfile and
    openpyxl raise for a file that is no workbook.
    """
    with zipfile.ZipFile(io.BytesIO(data)) as packed:
        _check_parts(packed, len(data), most_unpacked)
    return load_workbook(io.BytesIO(data), read_only=True, data_only=False, keep_links=False)


def _check_parts(packed: zipfile.ZipFile, size: int, most_unpacked: int) -> None:
    parts = packed.infolist()
    most = min(most_unpacked, UNPACKED.of(size))
    if len(parts) > MOST_PARTS:
        raise TooLargeWorkbook(f"The workbook has more than {MOST_PARTS} parts. {ADVICE}")
    if sum(part.file_size for part in parts) > most:  # zipfile unpacks no more than a part says it has
        raise TooLargeWorkbook(f"The workbook unpacks to more than {most // 1024**2} MB. {ADVICE}")
    left = {
        "cells": SHEET_TAGS.of(size),
        "texts": STRING_TAGS.of(size),
        "formats and names": OTHER_TAGS.of(size),
    }
    for part in parts:
        if part.filename.lower().endswith((".xml", ".rels", ".vml")) or SHEETS.search(part.filename):
            kind = _kind(part.filename)
            left[kind] -= _tags(packed, part, left[kind])
            if left[kind] < 0:
                raise TooLargeWorkbook(f"The workbook has too many {kind} for its size. {ADVICE}")


def _kind(name: str) -> str:
    if STRINGS.search(name):
        return "texts"
    return "cells" if SHEETS.search(name) else "formats and names"


def _tags(packed: zipfile.ZipFile, part: zipfile.ZipInfo, enough: int) -> int:
    """How many tags a part has, at least; counting ends above `enough`."""
    found, first = 0, True
    with packed.open(part) as unpacked:
        while found <= enough and (piece := unpacked.read(PIECE)):
            if first and not piece.lstrip().startswith(XML):
                raise TooLargeWorkbook(f"The workbook has a part in an encoding that is not read. {ADVICE}")
            found, first = found + piece.count(b"<"), False
    return found
