"""A database made for a benchmark and dropped after it, where nobody's rows stand; and what is asked by hand."""

import itertools
import os
from collections.abc import Callable
from contextlib import contextmanager
from pathlib import Path
from typing import TypeVar

from django.db import connection

Found = TypeVar("Found")
NUMBERS = itertools.count()


def in_a_database_of_its_own(folder: Path, measure: Callable[[], Found]) -> Found:
    """Run where no row of anybody's stands, be it within another; the database is dropped whatever happens."""
    before = connection.settings_dict["NAME"]
    name = f"bench_{os.getpid()}_{next(NUMBERS)}"
    connection.settings_dict["TEST"]["NAME"] = str(folder / name) if connection.vendor == "sqlite" else name
    connection.creation.create_test_db(verbosity=0, autoclobber=True, serialize=False)
    try:
        return measure()
    finally:
        connection.creation.destroy_test_db(before, verbosity=0)


@contextmanager
def within_database(name: str):
    """Everything asked meanwhile is asked of another of those databases."""
    before = connection.settings_dict["NAME"]
    _turn_to(name)
    try:
        yield
    finally:
        _turn_to(before)


def _turn_to(name: str) -> None:
    connection.close()
    connection.settings_dict["NAME"] = name


def by_hand(sql: str, values: list) -> Callable[[], list]:
    """A question in plain SQL, to measure our own against."""

    def ask() -> list:
        with connection.cursor() as cursor:
            cursor.execute(sql, values)
            return cursor.fetchall()

    return ask
