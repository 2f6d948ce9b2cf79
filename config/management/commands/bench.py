"""manage.py bench: every benchmark there is, one after the other, in one table or one object."""

import json
import subprocess
import sys
from pathlib import Path

from django.core.management import get_commands
from django.core.management.base import BaseCommand, CommandError

from beats.shared.bench import Row, printed

PART = "bench_"


class Command(BaseCommand):
    help = (
        "Run every benchmark, each in a process and a database of its own. On two cores it takes a quarter hour."
    )

    def add_arguments(self, parser):
        parser.add_argument("--only", nargs="+", default=[], help="some of them: rota, bookings, watch, reads …")
        parser.add_argument("--json", action="store_true", help="one object instead of a table")

    def handle(self, *, only: list[str], **options):
        there = sorted(name.removeprefix(PART) for name in get_commands() if name.startswith(PART))
        if unknown := sorted(set(only) - set(there)):
            raise CommandError(f"There is no benchmark {', '.join(unknown)}. There is: {', '.join(there)}.")
        rows = [row for name in only or there for row in self._rows(name)]
        self.stdout.write(printed(rows, as_json=options["json"]))
        if missed := [row.case for row in rows if row.holds is False]:
            raise CommandError(f"{len(missed)} missed: {'; '.join(missed)}.")

    def _rows(self, name: str) -> list[Row]:
        self.stderr.write(f"{name} …")
        words = [sys.executable, str(Path(sys.argv[0]).resolve()), PART + name, "--json"]
        done = subprocess.run(words, stdout=subprocess.PIPE, check=False)  # noqa: S603 - our own commands
        if done.returncode:
            raise CommandError(f"{PART}{name} failed; see above.")
        told = json.loads(done.stdout.splitlines()[-1])["rows"]
        for row in told:
            del row["ratio"]  # reckoned anew from the two figures
        return [Row(**row | {"case": f"{name}: {row['case']}"}) for row in told]
