"""Days of beats as plain facts: six hundred cells of a month are too many for a serializer each."""

import datetime as dt
from collections.abc import Iterable
from functools import lru_cache
from typing import Any

from bookings.availability import words_of
from bookings.openings import BeatSpan


def told_spans(found: Iterable[BeatSpan]) -> list[dict[str, Any]]:
    """What `BeatSpanOut` describes."""
    text = lru_cache(dt.date.isoformat)
    return [
        {
            "beat": span.beat.pk,
            "name": span.beat.name,
            "rods": span.beat.rods,
            "days": [
                {
                    "day": text(day),
                    "standing": standing,
                    "free": free,
                    "words": words_of(standing, free),
                    "reason": reason,
                }
                for day, standing, free, reason in span.days
            ],
        }
        for span in found
    ]
