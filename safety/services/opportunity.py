"""The third trigger: whoever asks about the watch and finds it stale makes it sweep, at most every ten seconds."""

import datetime as dt
import logging

from beats.shared.wall import lowered
from safety.queries import sweep_fault
from safety.services.pulse import turn_has_come
from safety.services.sweep import sweep

log = logging.getLogger("rodtally.watch")
EVERY = dt.timedelta(seconds=10)


def sweep_if_stale(*, now: dt.datetime) -> bool:
    """True when it swept. It leaves the loops' own pulse alone: a dead loop must stay in sight."""
    fault, _ = sweep_fault(now=now)
    if not fault or not turn_has_come("chance", every=EVERY, now=now):
        return False
    try:
        with lowered():  # the watch is over all waters, whoever asked
            sweep(now=now, pulse="chance sweep")
    except Exception:
        log.exception("a sweep by chance failed; the loops try again")
        return False
    return True
