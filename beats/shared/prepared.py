"""A question asked every few seconds, planned once a connection.

PostgreSQL takes ten times as long to plan what an idle sweep asks as to answer it.
"""

from typing import Any
from weakref import WeakKeyDictionary
from zlib import crc32

from django.db import ProgrammingError, connection

_kept: WeakKeyDictionary[Any, dict[str, bool]] = WeakKeyDictionary()
"""For each connection, what it was asked to keep, and whether it still does."""


def first_value(sql: str, value: Any, *, kind: str) -> Any:
    """The one value of a question in which every %s is the same value. `kind` is its type in PostgreSQL.

    A pooler that shares out connections by transaction loses what was prepared, or has it from another:
    then the question is asked plainly from there on. SQLite plans fast enough.
    """
    name = name_of(sql)
    with connection.cursor() as cursor:
        kept = _kept.setdefault(connection.connection, {}) if connection.vendor == "postgresql" else {name: False}
        try:
            if name not in kept:
                cursor.execute(f"PREPARE {name} ({kind}) AS {sql.replace('%s', '$1')}")
                kept[name] = True
            if kept[name]:
                cursor.execute(f"EXECUTE {name} (%s)", [value])
                return cursor.fetchone()[0]
        except ProgrammingError:
            kept[name] = False
            if connection.in_atomic_block:
                raise
        cursor.execute(sql, [value] * sql.count("%s"))
        return cursor.fetchone()[0]


def name_of(sql: str) -> str:
    """Its own for each text, so that an older release's question is never taken for this one."""
    return f"rodtally_{crc32(sql.encode()):08x}"
