"""Which message leaves first. Pure.

The order is common practice, no source: what may start a search before what reports on one, and both before
what can wait until tomorrow.
"""

from enum import IntEnum


class Priority(IntEnum):
    """Lower leaves first."""

    FIRST_ALARM = 0
    """The first messages about a lone angler, and about anybody who asks for help, by text too."""
    ALARM = 1
    """Every other message of an alarm, recalls, texts to read, check-ins nobody watches, all-clears withdrawn."""
    NOTICE = 2
    """Reminders and all-clears."""
    DRILL = 3


URGENT = Priority.ALARM
"""Senders are kept free for this class and those before it."""


def priority_of(about: str, *, kind: str = "", alone: bool = False, stage: int = 1, repeat: int = 0) -> Priority:
    """The class of a message; `about` as in `Delivery.About`, the rest of the alarm it belongs to."""
    if about == "drill":
        return Priority.DRILL
    if about in ("reminder", "all_clear"):
        return Priority.NOTICE
    if about == "message" and kind == "help":
        return Priority.FIRST_ALARM
    first = about == "overdue" and stage <= 1 and repeat == 0
    return Priority.FIRST_ALARM if first and (alone or kind == "help") else Priority.ALARM
