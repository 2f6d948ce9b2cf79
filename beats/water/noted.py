"""What of the things a keeper noted still holds: wind and thunder for hours, colour for half a day.

How long each holds is our own judgement, no source. What is older is not known, and said so.
"""

import datetime as dt
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from beats.water.facts import Noted
from beats.water.fish_care import Temperature

WEATHER_LASTS = dt.timedelta(hours=3)
CLARITY_LASTS = dt.timedelta(hours=12)
WATER_LASTS = dt.timedelta(hours=6)
MINUTE = dt.timedelta(minutes=1)


@dataclass(frozen=True)
class Standing:
    """The newest notes that still hold at an instant; None where none does."""

    wind: Noted | None
    thunder: Noted | None
    clarity: Noted | None
    water: Noted | None


def standing(noted: Sequence[Noted], *, now: dt.datetime, gauge: Sequence[Temperature] = ()) -> Standing:
    """What holds at `now`. The water's temperature is the newest of what the gauge and the keepers took."""
    taken = [Noted(each.at, "the gauge", water_c=each.water_c) for each in gauge[-1:]]
    return Standing(
        _newest(noted, now, WEATHER_LASTS, lambda each: each.wind_mps is not None),
        _newest(noted, now, WEATHER_LASTS, lambda each: each.thunder is not None),
        _newest(noted, now, CLARITY_LASTS, lambda each: each.clarity is not None),
        _newest([*noted, *taken], now, WATER_LASTS, lambda each: each.water_c is not None),
    )


def age_minutes(note: Noted | None, now: dt.datetime) -> int | None:
    """Whole minutes since it was noted, rounded down."""
    return None if note is None else (now - note.at) // MINUTE


def _newest(
    noted: Sequence[Noted], now: dt.datetime, lasts: dt.timedelta, says: Callable[[Noted], bool]
) -> Noted | None:
    held = [each for each in noted if says(each) and each.at <= now and now - each.at <= lasts]
    return max(held, key=lambda each: each.at, default=None)
