"""The senders of one process: threads for each channel, fed by one dispatcher.

The dispatcher alone takes messages, and only when a thread of the channel is free; so a channel that is slow
fills its own threads and no others, and a lease is counted from when sending begins. Some threads of each channel
are kept for alarms and recalls: all-clears and drills never fill a channel. Each message has a thread and a
database connection of its own, closed when it ends.

Any number of processes may run a pool: they share the work by the leases.
"""

import datetime as dt
import logging
import threading
import time
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass, field

from django.conf import settings
from django.db import close_old_connections, connections
from django.utils import timezone

from safety.faults import Kind
from safety.models import Delivery
from safety.priority import URGENT
from safety.services.pulse import beat_pulse
from safety.services.queueing import Head, extend_leases, heads, take, use_next_channel
from safety.services.sending import note_outcome, send_taken

log = logging.getLogger("rodtally.watch")
Channel = Delivery.Channel
POLL_S = 0.5
PULSE_S = 5.0
AHEAD = 200
"""So many messages of a channel are read at once."""
EXTEND_AFTER_S = 20.0
"""A lease lasts 60 s; one that is still needed after 20 s is extended, again and again."""
LONGEST_SEND_S = 150.0
"""A send that takes longer is counted as failed, and its thread is given up for lost."""


@dataclass(frozen=True)
class Lane:
    """A channel's threads in one process; `reserved` of them take alarms and recalls alone."""

    channel: str
    threads: int
    reserved: int


LANES = (
    Lane(Channel.EMAIL, 6, 3), Lane(Channel.TEXT, 4, 2), Lane(Channel.VOICE, 4, 2), Lane(Channel.PUSH, 2, 1),
    Lane(Channel.LOG, 1, 0),
)  # fmt: skip


@dataclass(eq=False)
class Sending:
    """One message under way."""

    delivery: Delivery
    began_s: float = field(default_factory=time.monotonic)
    extended_s: float = field(default_factory=time.monotonic)

    @property
    def urgent(self) -> bool:
        return self.delivery.priority <= URGENT


class SenderPool:
    """Sends what is due until it is stopped. `loop` names the process for its own pulse."""

    def __init__(
        self, *, clock: Callable[[], dt.datetime] = timezone.now, loop: str = "", lanes: tuple[Lane, ...] = LANES
    ) -> None:
        self.clock, self.loop, self.lanes = clock, loop, lanes
        self._lock = threading.Lock()
        self._under_way: dict[str, list[Sending]] = {lane.channel: [] for lane in lanes}
        self._served: dict[tuple[str, int | None], int] = {}
        self._serial = 0
        self._queues: dict[str, tuple[float, deque[Head]]] = {lane.channel: (0.0, deque()) for lane in lanes}
        self._read: dict[str, int] = dict.fromkeys(self._queues, 0)
        self._wake, self._ending = threading.Event(), threading.Event()
        self._pulse_s = self._next_channel_s = 0.0
        self._dispatcher: threading.Thread | None = None

    # --- From outside ---

    def start(self) -> "SenderPool":
        """Begin; begun already, it changes nothing."""
        with self._lock:
            if self._dispatcher is None or not self._dispatcher.is_alive():
                self._ending.clear()
                self._dispatcher = threading.Thread(target=self._run, name="send: dispatcher", daemon=True)
                self._dispatcher.start()
        return self

    def wake(self) -> None:
        """Look now rather than at the next poll."""
        self._wake.set()

    def stop(self, *, within_s: float = 25.0) -> bool:
        """Take no more, and wait for what is under way. False when something had to be left to its lease."""
        self._ending.set()
        self._wake.set()
        end = time.monotonic() + within_s
        if self._dispatcher is not None:
            self._dispatcher.join(within_s)
        while self.under_way() and time.monotonic() < end:
            time.sleep(0.02)
        return not self.under_way()

    def under_way(self) -> int:
        with self._lock:
            return sum(map(len, self._under_way.values()))

    # --- The dispatcher ---

    def _run(self) -> None:
        while not self._ending.is_set():
            try:
                close_old_connections()
                self._round()
            except Exception:
                log.exception("a round of the senders failed; it is tried again")
            self._wake.wait(POLL_S)
            self._wake.clear()
        connections.close_all()

    def _round(self) -> None:
        now = self.clock()
        self._look_after(now)
        if time.monotonic() >= self._next_channel_s:
            use_next_channel(now=now)
            self._next_channel_s = time.monotonic() + 2.0
        for lane in self.lanes:
            if lane.channel != Channel.PUSH or settings.WEB_PUSH_KEY:
                self._fill(lane, now)
        if time.monotonic() >= self._pulse_s:
            beat_pulse("deliver", *([self.loop] if self.loop else []), now=now)
            self._pulse_s = time.monotonic() + PULSE_S

    def _fill(self, lane: Lane, now: dt.datetime) -> None:
        """Give the lane's free threads what is due, the most urgent first."""
        with self._lock:
            busy = list(self._under_way[lane.channel])
        free = lane.threads - len(busy)
        free_for_others = min(free, lane.threads - lane.reserved - sum(not each.urgent for each in busy))
        queue = self._queue(lane, now, urgent_only=free_for_others <= 0) if free > 0 else deque()
        while queue and free > 0 and not self._ending.is_set():
            if queue[0].priority > URGENT and free_for_others <= 0:
                return
            head = queue.popleft()
            if (delivery := take(head.pk, now=self.clock())) is None:
                continue
            free, free_for_others = free - 1, free_for_others - (head.priority > URGENT)
            self._serial += 1
            self._served[lane.channel, head.fishery] = self._serial
            self._begin(lane, Sending(delivery))

    def _queue(self, lane: Lane, now: dt.datetime, *, urgent_only: bool) -> deque[Head]:
        """What is due by the lane, read at most every half second; the fishery served longest ago first."""
        read_s, queue = self._queues[lane.channel]
        moment = time.monotonic()
        if moment - read_s >= POLL_S or (not queue and len(queue) != self._read[lane.channel]):
            found = heads(now, lane.channel, most=AHEAD, lowest_class=URGENT if urgent_only else None)
            found.sort(key=lambda each: (each.priority, each.place, self._served_at(lane, each)))
            queue = deque(found)
            self._queues[lane.channel] = (moment, queue)
            self._read[lane.channel] = len(found)
        return queue

    def _served_at(self, lane: Lane, head: Head) -> int:
        return self._served.get((lane.channel, head.fishery), 0)

    def _begin(self, lane: Lane, sending: Sending) -> None:
        with self._lock:
            self._under_way[lane.channel].append(sending)
        name = f"send: {lane.channel}"
        threading.Thread(target=self._send, args=(lane, sending), name=name, daemon=True).start()

    def _look_after(self, now: dt.datetime) -> None:
        """Extend the leases of what is still being sent; give up what takes too long."""
        with self._lock:
            all_of_them = [(name, each) for name, lane in self._under_way.items() for each in lane]
        moment = time.monotonic()
        for name, each in all_of_them:
            if moment - each.began_s > LONGEST_SEND_S:
                each.delivery.failed_as = Kind.CHANNEL
                note_outcome(each.delivery, fault=f"No answer within {LONGEST_SEND_S:g} s.", now=now)
                self._end(name, each)
        slow = [each for _, each in all_of_them if moment - each.extended_s > EXTEND_AFTER_S]
        extend_leases([each.delivery for each in slow], now=now)
        for each in slow:
            each.extended_s = moment

    # --- A thread of its own for each message ---

    def _send(self, lane: Lane, sending: Sending) -> None:
        try:
            send_taken(sending.delivery, clock=self.clock)
        except Exception:
            log.exception("what became of delivery %s could not be noted; its lease runs out", sending.delivery.pk)
        finally:
            connections.close_all()
            self._end(lane.channel, sending)
            self._wake.set()

    def _end(self, channel: str, sending: Sending) -> None:
        with self._lock:
            if sending in self._under_way[channel]:
                self._under_way[channel].remove(sending)
