"""Days of beats as plain facts: six hundred cells of a month are too many for a serializer each."""

from collections.abc import Iterable
from typing import Any

from bookings.availability import BeatDay
from bookings.openings import BeatSpan


def told_spans(found: Iterable[BeatSpan]) -> list[dict[str, Any]]:
    """What `BeatSpanOut` describes."""
    return [
        {
            "beat": span.beat.pk,
            "name": span.beat.name,
            "rods": span.beat.rods,
            "days": [_told(day) for day in span.days],
        }
        for span in found
    ]


def _told(each: BeatDay) -> dict[str, Any]:
    return {
        "day": each.day.isoformat(),
        "standing": each.standing,
        "free": each.free,
        "words": each.words,
        "reason": each.reason,
    }
