"""Named points at which the suite ends or stops a process, as a power cut or a starved machine would.

In service they do nothing: only `arm`, which nothing but the crash tests calls, sets one.
"""

import os
import signal
from dataclasses import dataclass

POINTS = (
    "before alarms", "between alarm and messages", "before commit of alarms", "after commit of alarms",
    "before commit of a repeat", "before commit of an all-clear", "before commit of an answer",
    "before send", "after send", "after note",
)  # fmt: skip


@dataclass
class _Armed:
    """What happens where, and at which passing."""

    name: str = ""
    passing: int = 1
    by: signal.Signals = signal.SIGKILL


_armed = _Armed()


def arm(name: str, *, passing: int = 1, by: signal.Signals = signal.SIGKILL) -> None:
    """This process gets the signal when it passes the point for the n-th time."""
    if name not in POINTS:
        raise ValueError(f"no point is called {name}")
    _armed.name, _armed.passing, _armed.by = name, passing, by


def crash_point(name: str) -> None:
    """Here a process may die."""
    if name == _armed.name:
        _armed.passing -= 1
        if _armed.passing == 0:
            os.kill(os.getpid(), _armed.by)
