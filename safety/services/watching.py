"""The watch of one process, without a broker: one thread sweeps, others send, another does what is seldom done.

The sweep waits for no message and for no server outside.
"""

import datetime as dt
import logging
import threading
from collections.abc import Callable

from django.db import close_old_connections, connections
from django.utils import timezone

from safety.services.conditions import look_at_water
from safety.services.drills import weekly_drills
from safety.services.ping import ping
from safety.services.pulse import turn_has_come
from safety.services.sender_pool import SenderPool
from safety.services.sweep import Swept, sweep
from safety.services.undelivered import expire_undelivered

log = logging.getLogger("rodtally.watch")
MINUTE = dt.timedelta(minutes=1)
HOUR = 60 * MINUTE
CHORES_EVERY_S = 10.0
ROOM_S = 0.5
"""What is no alarm gets so long in one sweep, each kind of it; the rest is done by the next."""


class Watcher:
    """Sweeps every `every_s` seconds and sends, until it is stopped. `said` hears what each sweep did."""

    def __init__(self, *, every_s: float, said: Callable[[Swept], None] = lambda _swept: None) -> None:
        self.every_s, self.said = every_s, said
        self.senders = SenderPool(loop="deliver by watch")
        self._ending = threading.Event()
        self._threads: list[threading.Thread] = []

    def start(self) -> "Watcher":
        self.senders.start()
        for name, act, every_s in (
            ("watch: sweep", self._sweep, self.every_s),
            ("watch: chores", chores, CHORES_EVERY_S),
        ):
            thread = threading.Thread(target=self._again_and_again, args=(act, every_s), name=name, daemon=True)
            thread.start()
            self._threads.append(thread)
        return self

    def stop(self, *, within_s: float = 25.0) -> bool:
        """End; False when a message under way had to be left to its lease."""
        self._ending.set()
        done = self.senders.stop(within_s=within_s)
        for thread in self._threads:
            thread.join(within_s)
        return done

    def _sweep(self) -> None:
        swept = sweep(now=timezone.now(), loop="sweep by watch", room_s=ROOM_S)
        if swept.raised or swept.cleared:
            self.senders.wake()
        self.said(swept)

    def _again_and_again(self, act: Callable[[], None], every_s: float) -> None:
        while not self._ending.is_set():
            close_old_connections()
            try:
                act()
            except Exception:
                log.exception("a round of the watch failed; it is tried again")
            self._ending.wait(every_s)
        connections.close_all()


def chores() -> None:
    """What is done once a minute or an hour, by whichever watcher comes first."""
    now = timezone.now()
    if turn_has_come("look at the water", every=MINUTE, now=now):
        look_at_water(now=now)
    if turn_has_come("weekly drills", every=HOUR, now=now):
        weekly_drills(now=now)
    if turn_has_come("expire undelivered", every=HOUR, now=now):
        expire_undelivered(now=now)
    ping(now=now)
