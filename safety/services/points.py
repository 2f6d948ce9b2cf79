"""Named points at which the suite ends a process as a power cut would. In service they do nothing.

Only a process whose environment names the point, `RODTALLY_DIE_AT="after send:3"` (there, the third
time), is ended; nobody sets that outside the crash tests.
"""

import os
import signal
from itertools import count

_WANTED, _, _TIMES = os.environ.get("RODTALLY_DIE_AT", "").partition(":")
_seen = count(1)


def crash_point(name: str) -> None:
    """Here a process may die."""
    if _WANTED and name == _WANTED and next(_seen) == int(_TIMES or 1):
        os.kill(os.getpid(), signal.SIGKILL)
