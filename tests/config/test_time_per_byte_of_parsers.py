"""Every parser of what comes from outside takes time in proportion to the size of what it is given.

Each is given the same kind of text in sizes that double; the time per byte may grow by a small factor at most, and
stays below a limit. What it prints are microseconds a kilobyte (with -s).
"""

import contextlib
import io
import json
import time

import openpyxl
import pytest
from rest_framework.exceptions import APIException

from beats.fishery_file import read_toml
from beats.phones import e164
from beats.shared.client_address import client_address, networks
from beats.shared.refusals import Refusal
from beats.shared.rest import read_json
from bookings import spreadsheet
from config.logs.redaction import redacted
from safety.texts import clean as read_text
from sessions.old_books import sheet

SIZES = (8_000, 16_000, 32_000, 64_000, 128_000)
MOST_GROWTH = 4.0
"""Time per byte of the largest by that of the smallest: about 1 where time is linear, 16 where it is quadratic."""
MOST_S = 3.0
SHORT_S = 0.02
"""Below it, times say more of the machine than of the parser."""


def repeated(head, unit):
    return lambda size: (head + unit * (size // len(unit))).encode()


def workbook(size):
    book = openpyxl.Workbook()
    book.active.append(["Year", "Notes"])
    for number in range(size // 40):
        book.active.append([2024, f"fish number {number}"])
    made = io.BytesIO()
    book.save(made)
    return made.getvalue()


PARSERS = {
    "lets, CSV": (lambda data: spreadsheet.read(data, xlsx=False), repeated(
        "guest,beat,first day,rods\n", "Una,Upper,2027-05-04,1\n")),
    "lets, CSV in quotes": (lambda data: spreadsheet.read(data, xlsx=False), repeated(
        "guest,beat,first day,rods\n", '"')),
    "lets, a wide heading": (lambda data: spreadsheet.read(data, xlsx=False), repeated("", "a,")),
    "lets, workbook": (lambda data: spreadsheet.read(data, xlsx=True), workbook),
    "catches, CSV": (sheet.read, repeated("Year,Notes\n", "2024,a fish\n")),
    "catches, one long cell": (sheet.read, repeated("Year\n", "x")),
    "catches, workbook": (sheet.read, workbook),
    "fishery file, tables": (lambda data: read_toml(data.decode()), lambda size: "".join(
        f"[[pools]]\nname = 'p{n}'\n" for n in range(size // 25)).encode()),
    "fishery file, brackets": (lambda data: read_toml(data.decode()), repeated("a = ", "[")),
    "fishery file, dots": (lambda data: read_toml(data.decode()), repeated("", "a.")),
    "fishery file, lines of dots": (lambda data: read_toml(data.decode()), repeated("", "a." * 1900 + "a = 1\n")),
    "JSON, objects": (read_json, lambda size: json.dumps([{"a": 1}] * (size // 10)).encode()),
    "JSON, brackets": (read_json, repeated("", "[")),
    "JSON, backslashes": (read_json, repeated('"', "\\\\")),
    "telephone number": (lambda data: e164(data.decode()), repeated("+44 ", "1 (")),
    "text message": (lambda data: read_text(data.decode()), repeated("ON ", "5512 ")),
    "log line": (lambda data: redacted(data.decode()), repeated("", "a@a.b ")),
    "X-Forwarded-For": (lambda data: client_address("10.0.0.1", data.decode(), networks(["10.0.0.0/8"])), repeated(
        "", "10.0.0.2,")),
}  # fmt: skip


def seconds(parse, data):
    return min(_once(parse, data) for _ in range(3))


def _once(parse, data):
    start = time.perf_counter()
    with contextlib.suppress(Refusal, APIException, ValueError, RecursionError):  # a refusal takes time, too
        parse(data)
    return time.perf_counter() - start


@pytest.mark.parametrize("name", PARSERS)
def test_time_grows_with_the_size_and_no_faster(name):
    parse, make = PARSERS[name]
    taken = []
    for size in SIZES:
        data = make(size)
        taken.append((len(data), seconds(parse, data)))
        assert taken[-1][1] < MOST_S, taken
    per_kb = [1e6 * each * 1000 / size for size, each in taken]
    print(f"{name}: {', '.join(f'{one:.0f}' for one in per_kb)} microseconds a kB")  # noqa: T201 - with -s
    assert taken[-1][1] < SHORT_S or per_kb[-1] < MOST_GROWTH * per_kb[0], per_kb
