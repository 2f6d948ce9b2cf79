"""Workbooks that unpack to far more than they are: refused with what to do, in about a second, at every door.

Limits of a sheet: ECMA-376 (Office Open XML), part 1; 1,048,576 rows by 16,384 columns.
"""

import io
import json
import time
import zipfile

import openpyxl
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from beats.shared.workbooks import SHEET_TAGS, TooLargeWorkbook, open_workbook
from tests.factories import FisheryFactory, client_of, keeper

XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
SHEET = "xl/worksheets/sheet1.xml"
STRINGS = "xl/sharedStrings.xml"
MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
STRINGS_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml.sharedStrings+xml"
MOST_S = 2.0
"""A refusal takes some hundredths of a second; the machine may be busy."""
PLAN = {
    "what": "months", "columns": {"season": "Year"},
    "fixed": {"month": "5", "kind": "msw", "fate": "released", "number": "4"},
}  # fmt: skip


def workbook(rows=(("Year",), (2024,))):
    book = openpyxl.Workbook()
    for row in rows:
        book.active.append(row)
    made = io.BytesIO()
    book.save(made)
    return made.getvalue()


def with_parts(**parts):
    """A good workbook with some of its parts replaced; "/" is written "__" and the dot as it is."""
    source, made = zipfile.ZipFile(io.BytesIO(workbook())), io.BytesIO()
    parts = {name.replace("__", "/"): content for name, content in parts.items()}
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED, compresslevel=9) as packed:
        for name in [*source.namelist(), *(name for name in parts if name not in source.namelist())]:
            content = parts[name] if name in parts else source.read(name)
            if name == "[Content_Types].xml" and STRINGS in parts and b"sharedStrings" not in content:
                override = f'<Override PartName="/{STRINGS}" ContentType="{STRINGS_TYPE}"/></Types>'
                content = content.replace(b"</Types>", override.encode())
            packed.writestr(name, content)
    return made.getvalue()


def table_of_strings(number, each=b"<si/>"):
    return with_parts(**{STRINGS: b'<sst xmlns="%s">' % MAIN.encode() + each * number + b"</sst>"})


def sheet_of(content):
    return with_parts(
        **{SHEET: b'<worksheet xmlns="%s"><sheetData>' % MAIN.encode() + content + b"</sheetData></worksheet>"}
    )


def styles_of(number):
    content = f'<styleSheet xmlns="{MAIN}"><cellXfs>' + "<xf/>" * number + "</cellXfs></styleSheet>"
    return with_parts(**{"xl/styles.xml": content})


BOMBS = {
    "12 million empty texts": lambda: table_of_strings(12_000_000),
    "half a million empty texts": lambda: table_of_strings(500_000),
    "texts of many runs": lambda: table_of_strings(1, b"<si>" + b"<r><t>a</t></r>" * 500_000 + b"</si>"),
    "one long text": lambda: table_of_strings(1, b"<si><t>" + b"a" * 60_000_000 + b"</t></si>"),
    "a million cells": lambda: sheet_of(b'<row r="1">' + b'<c r="A1"><v>1</v></c>' * 1_000_000 + b"</row>"),
    "a million rows": lambda: sheet_of(b"<row/>" * 1_000_000),
    "a row far below": lambda: sheet_of(b'<row r="1"><c r="A1"><v>1</v></c></row><row r="2000000000"/>'),
    "half a million formats": lambda: styles_of(500_000),
    "two thousand parts": lambda: with_parts(**{f"xl/{number}.xml": b"<a/>" for number in range(2000)}),
    "texts in an encoding of mainframes": lambda: with_parts(**{
        STRINGS: ('<?xml version="1.0" encoding="cp037"?><sst>' + "<si/>" * 500_000 + "</sst>").encode("cp037")
    }),
}  # fmt: skip


@pytest.fixture
def owner():
    fishery = FisheryFactory()
    client = client_of(keeper(fishery))
    client.get("/api/v1/fisheries/")  # the first request of a process loads the whole service
    return client, fishery


def old_book(client, fishery, data):
    file = SimpleUploadedFile("book.xlsx", data, XLSX)
    return client.post(
        f"/api/v1/fisheries/{fishery.slug}/old-books/look/",
        {"file": file, "plan": json.dumps(PLAN)},
        format="multipart",
    )


def lets(client, fishery, data):
    return client.post(f"/api/v1/fisheries/{fishery.slug}/lets/preview/", data, content_type=XLSX)


@pytest.mark.django_db
@pytest.mark.parametrize("door", [old_book, lets])
@pytest.mark.parametrize("bomb", BOMBS)
def test_a_workbook_that_is_a_bomb_is_refused_at_once(bomb, door, owner):
    data = BOMBS[bomb]()
    start = time.perf_counter()
    answer = door(*owner, data)
    taken = time.perf_counter() - start
    print(f"{bomb}: {len(data)} bytes, {taken:.2f} s, {answer.json()['detail']}")  # noqa: T201 - with -s
    assert answer.status_code in (400, 413), answer.content[:300]
    assert any(word in answer.json()["detail"] for word in ("Copy", "Save", "Send", "Delete", "Columns"))
    assert taken < MOST_S


@pytest.mark.django_db
def test_a_workbook_as_people_write_it_is_read(owner):
    rows = [("Year", "Notes"), *((2024, f"A fish of {n} cm at the tail of the pool") for n in range(20_000))]
    answer = old_book(*owner, workbook(rows))
    assert answer.status_code == 200, answer.content[:300]


def test_what_is_allowed_holds_sheets_of_plain_figures():
    """The most regular sheet there is: a figure repeated."""
    data = workbook([(1, 1, 1, 1, 1, 1, 1, 1)] * 50_000)
    with zipfile.ZipFile(io.BytesIO(data)) as packed:
        tags = packed.read(SHEET).count(b"<")
    assert tags < SHEET_TAGS.of(len(data))
    assert sum(1 for _ in open_workbook(data, most_unpacked=10**9).worksheets[0].iter_rows()) == 50_000


def test_the_greatest_size_holds_whatever_the_file_is():
    with pytest.raises(TooLargeWorkbook, match="unpacks to more than 0 MB"):
        open_workbook(workbook(), most_unpacked=1000)


@pytest.mark.parametrize("each", [b"<si/>", b"<si><t>a</t></si>", b"<si><r><t>a</t></r></si>"])
def test_the_slowest_tables_of_texts_that_are_let_through_take_about_a_second(each):
    data = table_of_strings(38_000 // each.count(b"<"), each)
    start = time.perf_counter()
    open_workbook(data, most_unpacked=10**9)
    taken = time.perf_counter() - start
    print(f"{each!r}: {taken:.2f} s")  # noqa: T201
    assert taken < MOST_S
