"""Sending fish out as they come from the database: one snapshot, flat memory, a count and a hash at the end.

PostgreSQL writes the CSV itself (COPY); SQLite's rows go through the csv module. Either way it is one
statement, so what comes out is the book as it stood at one instant. A file that does not end with the
closing line was cut off: the status has been sent by then and can no longer say so.
"""

import csv
import datetime as dt
import hashlib
import io
import json
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from itertools import islice

from django.db import connection, transaction

from beats.models import Fishery
from sessions.export.columns import NAMES, POSTGRES, json_statement, statement

FIRST, PIECES, ROWS = 100, 400, 2000  # pieces are small, so that a block stays in the processor's cache
# A JSON object holds neither of these two, so COPY quotes nothing and doubles nothing.
AS_IT_IS = "(FORMAT csv, DELIMITER E'\\x02', QUOTE E'\\x01')"

AS_WE_READ = "SET LOCAL DateStyle = 'ISO'; SET LOCAL max_parallel_workers_per_gather = 0"
"""Dates as ISO 8601 whatever the server's settings; and one process, since gathering the rows of several costs
more than they save, and the watch needs its share of the processors."""


def values(fishery: Fishery, season: int | None) -> list:
    span = [] if season is None else [dt.date(season, 1, 1), dt.date(season + 1, 1, 1)]
    return [fishery.pk, *(str(day) for day in span)]


def csv_stream(fishery: Fishery, season: int | None = None) -> Iterator[bytes]:
    """RFC 4180, a header first, and `#rows=N sha256=...` last: the hash is of all that stands before it."""
    head = (",".join(NAMES) + "\r\n").encode()
    sql = statement(connection.vendor, season=season is not None)
    blocks = (
        _copied(sql, values(fishery, season))
        if connection.vendor == POSTGRES
        else _written(sql, values(fishery, season))
    )
    yield from _closed(head, blocks, lambda rows, digest: f"#rows={rows} sha256={digest}\r\n")


def json_stream(fishery: Fishery, season: int | None = None) -> Iterator[bytes]:
    """One object a line; the last has `rows` and `sha256` alone."""
    sql = json_statement(connection.vendor, season=season is not None)
    asked = values(fishery, season)
    blocks = _copied(sql, asked, AS_IT_IS, b"\n") if connection.vendor == POSTGRES else _lines(sql, asked)
    yield from _closed(b"", blocks, lambda rows, digest: json.dumps({"rows": rows, "sha256": digest}) + "\n")


def _closed(head: bytes, blocks: Iterable[tuple[int, bytes]], closing) -> Iterator[bytes]:
    digest, rows = hashlib.sha256(head), 0
    if head:
        yield head
    for count, block in blocks:
        rows += count
        digest.update(block)
        yield block
    yield closing(rows, digest.hexdigest()).encode()


@contextmanager
def snapshot_cursor():
    """A cursor that sees the database as it stands at its first question, and writes nothing.

    On SQLite one SELECT is a read transaction of its own; opening one here would take the only write lock.
    """
    if connection.vendor != POSTGRES:
        with connection.cursor() as cursor:
            yield cursor
        return
    own = not connection.in_atomic_block
    with transaction.atomic(), connection.cursor() as cursor:
        if own:
            cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
        cursor.execute(AS_WE_READ)
        yield cursor


def _copied(
    sql: str, asked: list, form: str = "(FORMAT csv)", end: bytes = b"\r\n"
) -> Iterator[tuple[int, bytes]]:
    """What PostgreSQL writes, a row a piece, gathered into blocks. No cell holds a line break."""
    with snapshot_cursor() as cursor, cursor.copy(f"COPY ({sql}) TO STDOUT {form}", asked) as copy:
        pieces, size = map(bytes, copy), min(FIRST, PIECES)
        while block := list(islice(pieces, size)):
            yield len(block), b"".join(block).replace(b"\n", end)
            size = PIECES


def _fetched(sql: str, asked: list) -> Iterator[list[tuple]]:
    with snapshot_cursor() as cursor:
        cursor.execute(sql, asked)
        rows = cursor.cursor if connection.vendor != POSTGRES else cursor
        size = min(FIRST, ROWS)  # whoever waits sees something at once
        while block := rows.fetchmany(size):
            yield block
            size = ROWS


def _written(sql: str, asked: list) -> Iterator[tuple[int, bytes]]:
    for block in _fetched(sql, asked):
        text = io.StringIO()
        csv.writer(text).writerows(block)
        yield len(block), text.getvalue().encode()


def _lines(sql: str, asked: list) -> Iterator[tuple[int, bytes]]:
    for block in _fetched(sql, asked):
        yield len(block), "".join(f"{text}\n" for (text,) in block).encode()
