"""manage.py watch: the watch without a broker. It needs only the database."""

import datetime as dt
import logging
import signal
import threading

from django.core.management.base import BaseCommand
from django.db import close_old_connections
from django.utils import timezone

from safety.services.conditions import look_at_water
from safety.services.deliver import deliver
from safety.services.drills import weekly_drills
from safety.services.ping import ping
from safety.services.pulse import turn_has_come
from safety.services.sweep import sweep

log = logging.getLogger("rodtally.watch")
MINUTE = dt.timedelta(minutes=1)


class Command(BaseCommand):
    requires_system_checks = []  # up at once: each second of start is a second unwatched
    help = "Raise overdue alarms and send them, again and again, without Celery or Redis."

    def add_arguments(self, parser):
        parser.add_argument("--every", type=float, default=10.0, help="seconds between rounds")
        parser.add_argument("--once", action="store_true", help="one round, then stop")

    def handle(self, *, every: float, once: bool, **_options):
        stop = threading.Event()
        for name in (signal.SIGTERM, signal.SIGINT):
            signal.signal(name, lambda *_: stop.set())
        while not stop.is_set():
            self._round(fail=once)
            if once:
                return
            stop.wait(every)

    def _round(self, *, fail: bool):
        close_old_connections()
        try:
            swept = sweep(now=timezone.now(), loop="" if fail else "sweep by watch")
            sent = deliver(clock=timezone.now, loop="" if fail else "deliver by watch")
            if not fail:
                self._now_and_then()
        except Exception:
            if fail:
                raise
            log.exception("a round of the watch failed; it is tried again")
            return
        self._say(swept, sent)

    def _now_and_then(self):
        """What is done once a minute or an hour, by whichever watcher comes first. It may not stop the sweep."""
        now = timezone.now()
        if turn_has_come("look at the water", every=MINUTE, now=now):
            look_at_water(now=now)
        if turn_has_come("weekly drills", every=60 * MINUTE, now=now):
            weekly_drills(now=now)
        ping(now=now)

    def _say(self, swept, sent):
        if swept.raised or swept.cleared or swept.failed or sent.sent or sent.failed:
            self.stdout.write(
                f"raised {swept.raised}, cleared {swept.cleared}, sent {sent.sent}, "
                f"failed {swept.failed + sent.failed}"
            )
