"""manage.py bench_bookings: what the rush and the searches cost, each beside the least it could."""

import os
import tempfile
from collections.abc import Callable
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError
from django.db import connection

from beats.shared.bench import Row, printed
from bookings.benches import archive, rush


class Command(BaseCommand):
    help = "Measure letting and searching, in a database made for it and dropped."

    def add_arguments(self, parser):
        parser.add_argument("--tries", type=int, default=1000, help="requests of the rush")
        parser.add_argument("--rounds", type=int, default=30, help="of each search")
        parser.add_argument("--years", type=int, default=archive.YEARS, help="in the archive")
        parser.add_argument("--json", action="store_true", help="one object instead of a table")

    def handle(self, *, tries: int, rounds: int, years: int, json: bool, **_options):
        if not (100 <= tries <= 3000 and rounds >= 5 and 1 <= years <= 20):
            raise CommandError("Measure 100 to 3000 tries, 5 rounds or more, 1 to 20 years.")
        with tempfile.TemporaryDirectory() as folder:
            found = _in_a_database_of_its_own(
                Path(folder), lambda: [*rush.rows(tries), *archive.rows(rounds, years)]
            )
        self.stdout.write(printed(found, as_json=json))


def _in_a_database_of_its_own(folder: Path, measure: Callable[[], list[Row]]) -> list[Row]:
    """Run where nobody's lets stand; the database is dropped whatever happens."""
    before = connection.settings_dict["NAME"]
    name = f"bench_bookings_{os.getpid()}"
    connection.settings_dict["TEST"]["NAME"] = str(folder / name) if connection.vendor == "sqlite" else name
    connection.creation.create_test_db(verbosity=0, autoclobber=True, serialize=False)
    try:
        return measure()
    finally:
        connection.creation.destroy_test_db(before, verbosity=0)
