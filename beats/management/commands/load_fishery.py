"""manage.py load_fishery FILE.toml"""

from pathlib import Path

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from beats.fishery_faults import parse
from beats.services.fishery_loading import load_fishery
from beats.shared.refusals import Refusal

LARGEST_FILE = 2_000_000


class Command(BaseCommand):
    help = "Load a fishery file: adds, changes and removes until the water is what the file says."

    def add_arguments(self, parser):
        parser.add_argument("file", type=Path)

    def handle(self, *, file: Path, **_options):
        try:
            loaded = load_fishery(parse(_text(file)), by=None, now=timezone.now())
        except Refusal as refusal:
            raise CommandError(refusal.sentence) from refusal
        for line in loaded.changes:
            self.stdout.write(line)
        self.stdout.write(f"{loaded.fishery.name}: {len(loaded.changes) or 'no'} changes.")


def _text(file: Path) -> str:
    try:
        data = file.read_bytes()
    except OSError as error:
        raise CommandError(f"Cannot read {file}: {error.strerror}.") from error
    if len(data) > LARGEST_FILE:
        raise CommandError(f"{file} is larger than any fishery file ({LARGEST_FILE // 1000} kB).")
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError as error:
        raise CommandError(f"{file} is not UTF-8 text: {error}. Save it as UTF-8.") from error
