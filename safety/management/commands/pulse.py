"""manage.py pulse: is somebody watching? Asked by container health checks."""

from django.core.management.base import BaseCommand, CommandError
from django.db import DatabaseError
from django.utils import timezone

from beats.shared import words
from safety.queries import watch_health


class Command(BaseCommand):
    help = "Say what is wrong with the watch and end with 1; end with 0 when nothing is known to be."
    requires_system_checks = []  # asked every few seconds: it looks at the database and nothing else

    def handle(self, **_options):
        try:
            health = watch_health(now=timezone.now())
        except DatabaseError as error:
            raise CommandError("The database does not answer. Nobody is being watched: ring round.") from error
        if health.faults:
            raise CommandError("\n".join(health.faults))
        self.stdout.write(f"The watch last swept at {words.instant(health.swept_at)} UTC.")
