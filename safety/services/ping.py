"""The dead man's handle: while the watch is well it says so to an address outside, which rings when it stops."""

import datetime as dt
import logging

from django.conf import settings

from beats.outbound import OUT, Door, NotFetched, fetch
from safety.queries import watch_health
from safety.services.pulse import turn_has_come

log = logging.getLogger("rodtally.watch")
EVERY = dt.timedelta(seconds=60)


def ping(*, now: dt.datetime, door: Door = OUT) -> bool:
    """Say that the watch is well, once a minute whoever asks. Silence is the signal; True when it was said."""
    if not settings.WATCH_PING_URL or watch_health(now=now).faults:
        return False
    if not turn_has_come("ping", every=EVERY, now=now):
        return False
    try:
        fetch(settings.WATCH_PING_URL, door=door)
    except NotFetched as fault:
        log.warning("the ping outside failed: %s", fault)
        return False
    return True
