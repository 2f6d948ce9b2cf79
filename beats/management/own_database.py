"""A database made for a benchmark and dropped after it, so that nobody's rows stand in it."""

import os
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

from django.db import connection

Found = TypeVar("Found")


def in_a_database_of_its_own(folder: Path, measure: Callable[[], Found]) -> Found:
    """Run where no row of anybody's stands; the database is dropped whatever happens."""
    before = connection.settings_dict["NAME"]
    name = f"bench_{os.getpid()}"
    connection.settings_dict["TEST"]["NAME"] = str(folder / name) if connection.vendor == "sqlite" else name
    connection.creation.create_test_db(verbosity=0, autoclobber=True, serialize=False)
    try:
        return measure()
    finally:
        connection.creation.destroy_test_db(before, verbosity=0)
