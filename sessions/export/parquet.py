"""Fish as Parquet: row groups as they come, the count and a hash in the file's own metadata."""

import hashlib
from collections.abc import Iterator
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any

from django.db import connection

from beats.models import Fishery
from sessions.export.columns import COLUMNS, Column, statement
from sessions.export.stream import snapshot_cursor, values

GROUP = 20_000


def parquet_stream(fishery: Fishery, season: int | None = None) -> Iterator[bytes]:
    """The file in pieces. Its metadata hold `rows` and `sha256`, the hash of all row groups before the footer."""
    import pyarrow as pa  # noqa: PLC0415 - large, and few ask for it
    import pyarrow.parquet as pq  # noqa: PLC0415

    sink, rows = _Sink(), 0
    schema = pa.schema([(column.name, _arrow(pa, column)) for column in COLUMNS])
    with pq.ParquetWriter(pa.PythonFile(sink, mode="w"), schema, compression="zstd") as writer:
        for block in _groups(fishery, season):
            table = pa.table(
                {column.name: _values(column, block, place) for place, column in enumerate(COLUMNS)}, schema=schema
            )
            writer.write_table(table)
            rows += len(block)
            yield sink.taken()
        yield sink.taken()
        writer.add_key_value_metadata({"rows": str(rows), "sha256": sink.digest.hexdigest()})
    yield sink.taken()


class _Sink:
    """Where the writer writes to; what is in it is taken away piece by piece."""

    def __init__(self) -> None:
        self.pieces: list[bytes] = []
        self.digest = hashlib.sha256()
        self.closed = False

    def write(self, piece: Any) -> int:
        self.pieces.append(bytes(piece))
        return len(self.pieces[-1])

    def taken(self) -> bytes:
        block = b"".join(self.pieces)
        self.pieces.clear()
        self.digest.update(block)
        return block

    def flush(self) -> None:
        """Nothing is held back."""

    def close(self) -> None:
        self.closed = True


def _groups(fishery: Fishery, season: int | None) -> Iterator[list[tuple]]:
    sql = statement(connection.vendor, season=season is not None)
    with snapshot_cursor() as cursor:
        if connection.vendor == "postgresql":  # else the client takes every row before it gives one
            name = "fish_as_parquet"
            cursor.execute(f"DECLARE {name} NO SCROLL CURSOR FOR {sql}", values(fishery, season))
            cursor.execute(f"FETCH {GROUP} FROM {name}")
            while block := cursor.fetchall():
                yield block
                cursor.execute(f"FETCH {GROUP} FROM {name}")
            return
        cursor.execute(sql, values(fishery, season))
        while block := cursor.cursor.fetchmany(GROUP):
            yield block


def _arrow(pa: Any, column: Column) -> Any:
    if column.name in ("weight_kg", "length_cm"):
        return pa.decimal128(6, 2)
    kinds = {
        "integer": pa.int64(), "string": pa.string(), "date": pa.date32(), "number": pa.float64(),
        "datetime": pa.timestamp("s", tz="UTC"), "boolean": pa.bool_(),
    }  # fmt: skip
    return kinds[column.kind]


def _values(column: Column, block: list[tuple], place: int) -> list:
    read = {"date": _day, "datetime": _instant, "boolean": "true".__eq__}.get(column.kind)
    if column.name in ("weight_kg", "length_cm"):
        read = _exact
    cells = [row[place] for row in block]
    return [None if cell is None else read(cell) for cell in cells] if read else cells


def _exact(cell: Any) -> Decimal:
    return Decimal(str(cell)).quantize(Decimal("0.01"))


def _day(cell: Any) -> date:
    return cell if isinstance(cell, date) else date.fromisoformat(cell)


def _instant(cell: str) -> datetime:
    return datetime.strptime(cell, "%Y-%m-%dT%H:%M:%SZ").replace(tzinfo=UTC)
