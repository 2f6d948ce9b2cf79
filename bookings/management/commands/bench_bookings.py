"""manage.py bench_bookings: what the rush and the searches cost, each beside the least it could."""

import tempfile
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError

from beats.management.own_database import in_a_database_of_its_own
from beats.shared.bench import printed
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
            found = in_a_database_of_its_own(
                Path(folder), lambda: [*rush.rows(tries), *archive.rows(rounds, years)]
            )
        self.stdout.write(printed(found, as_json=json))
