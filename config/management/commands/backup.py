"""manage.py backup FILE: everything the service knows, in one file."""

from pathlib import Path

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from config.backup.file import NotABackup, write
from config.backup.rows import lines_of_everything


class Command(BaseCommand):
    help = "Write the whole database to one file while the service runs. Guard it: it holds names and numbers."

    def add_arguments(self, parser):
        parser.add_argument("file", type=Path, help="written anew; only its owner may read it")
        parser.add_argument(
            "--to", action="append", default=[], metavar="AGE1…", help="age public key to seal it for"
        )

    def handle(self, *, file: Path, to: list[str], **_options):
        try:
            lines = write(file, lines_of_everything(now=timezone.now()), recipients=to)
        except (NotABackup, OSError) as fault:
            raise CommandError(str(fault)) from fault
        sealed = "sealed" if to else "NOT sealed: whoever reads it reads everything"
        self.stdout.write(f"{file}: {lines} lines, {file.stat().st_size} bytes, {sealed}.")
