"""manage.py watch: the watch without a broker. It needs only the database."""

import signal
import threading

from django.core.management.base import BaseCommand
from django.utils import timezone

from safety.services.deliver import deliver
from safety.services.sweep import sweep
from safety.services.watching import Watcher


class Command(BaseCommand):
    requires_system_checks = []  # up at once: each second of start is a second unwatched
    help = "Raise overdue alarms and send them, again and again, without Celery or Redis."

    def add_arguments(self, parser):
        parser.add_argument("--every", type=float, default=2.0, help="seconds between sweeps")
        parser.add_argument("--once", action="store_true", help="one round, then stop")

    def handle(self, *, every: float, once: bool, **_options):
        if once:
            swept = sweep(now=timezone.now())
            sent = deliver(clock=timezone.now)
            self._say(swept, f", sent {sent.sent}", failed=sent.failed)
            return
        stop = threading.Event()
        for name in (signal.SIGTERM, signal.SIGINT):
            signal.signal(name, lambda *_: stop.set())
        watcher = Watcher(every_s=every, said=self._say).start()
        stop.wait()
        watcher.stop()

    def _say(self, swept, sent: str = "", *, failed: int = 0):
        if swept.raised or swept.cleared or swept.failed or failed or sent not in ("", ", sent 0"):
            self.stdout.write(
                f"raised {swept.raised}, cleared {swept.cleared}{sent}, failed {swept.failed + failed}"
            )
