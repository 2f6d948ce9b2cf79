"""What the watch cannot do for somebody who goes on the water. Pure: names only; the words are in `safety`."""

from collections.abc import Collection
from enum import StrEnum


class WatchLimit(StrEnum):
    """Kept with the outing, as they were at check-in."""

    NOT_RUNNING = "watch-not-running"
    NO_NUMBER = "no-number"
    NO_KEEPER = "no-keeper-on-duty"
    NO_CONTACT = "no-emergency-contact"
    OWN_CONTACT = "own-emergency-contact"


ORDER = tuple(WatchLimit)
"""The order in which they are stated, the gravest first."""


def alarm_is_promised(limits: Collection[WatchLimit]) -> bool:
    """Whether it may be stated that the keepers are told at a certain time."""
    return not {WatchLimit.NOT_RUNNING, WatchLimit.NO_KEEPER} & set(limits)
