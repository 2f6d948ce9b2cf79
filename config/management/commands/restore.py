"""manage.py restore FILE: a backup put into an empty database, and whom to ask after."""

from pathlib import Path

from django.core.management.base import BaseCommand, CommandError

from config.backup.file import NotABackup, read
from config.backup.rows import NotEmpty, fill_from
from sessions.models import Outing

ASK = "Out on the water when this backup was made. Whoever came back since is still down as out: ask after each."


class Command(BaseCommand):
    help = "Fill an empty database from a backup. Stop web, worker, scheduler and watch first."

    def add_arguments(self, parser):
        parser.add_argument("file", type=Path)
        parser.add_argument("--identity", type=Path, help="file of the age key that opens a sealed backup")

    def handle(self, *, file: Path, identity: Path | None, **_options):
        try:
            keys = _keys(identity)
            for _ in read(file, identities=keys):
                pass  # all of it is believed before any of it is used
            counts = fill_from(read(file, identities=keys))
        except (NotABackup, NotEmpty, OSError) as fault:
            raise CommandError(str(fault)) from fault
        self.stdout.write("\n".join([f"{sum(counts.values())} rows in {len(counts)} tables.", *_still_out()]))


def _still_out() -> list[str]:
    out = (
        Outing.objects.filter(checked_out_at__isnull=True).select_related("guest", "beat").order_by("due_back_at")
    )
    told = [
        f"  {one.guest.name}, {one.beat.name}, due off the water {one.due_back_at:%Y-%m-%d %H:%M} UTC,"
        f" {one.guest.phone or 'no telephone'}"
        for one in out
    ]
    return [ASK, *told] if told else []


def _keys(identity: Path | None) -> list[str]:
    if identity is None:
        return []
    lines = identity.read_text(encoding="utf-8").splitlines()
    return [line.strip() for line in lines if line.strip() and not line.startswith("#")]
