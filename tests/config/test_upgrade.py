"""Data of the first release come through every migration, on either database, and every migration goes back.

`first_release.bak` is the demo's database as the very first release left it, backed up with its migrations.
"""

import gzip
import json
from contextlib import closing
from pathlib import Path

import pytest
from django.db import connection
from django.db.migrations.loader import MigrationLoader

from tests.config.elsewhere import run

FIRST = Path(__file__).with_name("first_release.bak")
OURS = ("safety", "fishing_sessions", "bookings", "beats")
KEPT = {
    "fishing_sessions.catch": ("fishing_sessions_catch", ("id", "caught_at", "kind", "fate", "weight_kg", "fly")),
    "fishing_sessions.outing": (
        "fishing_sessions_outing",
        ("id", "checked_in_at", "due_back_at", "checked_out_at"),
    ),
    "fishing_sessions.turn": ("fishing_sessions_turn", ("id", "day", "rod", "pool_id", "guest_id")),
    "bookings.rodday": ("bookings_rodday", ("id", "day", "rod", "beat_id", "let_id", "guest_id")),
    "bookings.guest": ("bookings_guest", ("id", "name", "email", "phone")),
    "safety.alarm": ("safety_alarm", ("id", "stage", "raised_at", "cleared_at")),
    "beats.pool": ("beats_pool", ("id", "slug", "bank", "length_m")),
}
DECLARED = frozenset()
"""Migrations that cannot go back, `app.name`, each with its reason in its docstring. None so far."""


def then():
    """What the first release held, by table and column."""
    found, names, table = {}, [], ""
    for text in gzip.decompress(FIRST.read_bytes()).splitlines():
        line = json.loads(text)
        if isinstance(line, dict):
            table, names = line.get("table", ""), line.get("columns", [])
        elif table in KEPT:
            found.setdefault(table, []).append(dict(zip(names, line, strict=True)))
    return found


def plain(value):
    """A value as either driver or the file writes it: instants without a zone, numbers as numbers."""
    text = str(value).removesuffix("+00:00").replace("T", " ")
    text = text.removesuffix(".000000")
    try:
        return float(text)
    except ValueError:
        return text


def now_of(reading, table, columns):
    with reading() as other, closing(other.cursor()) as cursor:
        if connection.vendor == "postgresql":
            cursor.execute("SET TIME ZONE 'UTC'")
        cursor.execute(f"SELECT {', '.join(columns)} FROM {table} ORDER BY id")
        return [[plain(value) for value in row] for row in cursor.fetchall()]


@pytest.mark.long
@pytest.mark.django_db  # on both
def test_the_first_release_comes_through_all_migrations_and_back_again(elsewhere):
    url, reading = elsewhere
    done = run(url, "restore", FIRST)
    assert done.returncode == 0, done.stderr
    assert "Out on the water when this backup was made" in done.stdout
    before = then()
    wanted = {
        table: [[plain(row[name]) for name in columns] for row in before[name_then]]
        for name_then, (table, columns) in KEPT.items()
    }
    assert {table: now_of(reading, table, columns) for table, columns in KEPT.values()} == wanted
    for app in OURS:
        back = run(url, "migrate", app, "0001")
        assert back.returncode == 0, back.stderr
    forward = run(url, "migrate")
    assert forward.returncode == 0, forward.stderr
    again = {table: len(now_of(reading, table, ("id",))) for table, _ in KEPT.values()}
    assert again == {table: len(rows) for table, rows in wanted.items()}


def ours():
    loader = MigrationLoader(None)
    return {key: migration for key, migration in loader.disk_migrations.items() if key[0] in OURS}


@pytest.mark.parametrize("key", sorted(ours()), ids=".".join)
def test_a_migration_goes_back_or_says_that_it_cannot(key):
    migration = ours()[key]
    assert all(operation.reversible for operation in migration.operations) or ".".join(key) in DECLARED


def test_what_is_declared_is_there():
    assert {".".join(key) for key in ours()} >= DECLARED
