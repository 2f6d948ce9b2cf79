"""When it gets light and dark: sunrise, sunset and civil twilight, never later in the evening than published.

Sunrise and sunset: the sun's centre 50 arcminutes below a flat horizon (34' refraction and 16' radius). Civil
twilight: 6 degrees below, the geometric centre (both as the nautical almanacs define them). The sun's height is
the astral library's; the instant is found by bisection on it, since astral's own twilight is late by 78 s at
58.6 N and by ten minutes at 60.5 N in midsummer, where the sun only grazes that height.

Anglers must be off the water by dark, so every instant errs towards dark: the sun is taken to stand MARGIN_DEG
lower than it does. That is some 12 s at 57 N in spring, and as much longer as the sun sinks more slowly. Banks,
hills and trees bring dark earlier than any of it.
"""

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from zoneinfo import ZoneInfo

from astral import Observer, sun

from beats.shared.phrases import say

DARKER_THAN_TOLD = say("Hills, trees and cloud bring dark earlier than these times.")

MARGIN_DEG = 0.02
"""Twice the 0.01 degrees to which the sun's place is known by these formulas (Meeus, Astronomical Algorithms,
chapter 25, low accuracy; from memory)."""
SUNRISE_DEG, TWILIGHT_DEG = -50 / 60, -6.0
HALF_DAY, ONE_DAY = dt.timedelta(hours=12), dt.timedelta(days=1)
CLOSE = dt.timedelta(seconds=0.5)


@dataclass(frozen=True)
class Light:
    """Four instants (UTC) of one day, from its dawn to its dusk; None where the sun does not do that."""

    first_light_at: dt.datetime | None
    sunrise_at: dt.datetime | None
    sunset_at: dt.datetime | None
    last_light_at: dt.datetime | None


@lru_cache(maxsize=4096)
def light(day: dt.date, *, latitude: float, longitude: float, zone: ZoneInfo) -> Light:
    """Light on a local date at a place (degrees north and east).

    In a northern midsummer the dusk of a day falls after midnight, and its dawn may fall before:
    the dusk given is the one after this day's sunset, the dawn the one before its sunrise.
    Near the poles some events do not happen: those are None, never an error.
    """
    observer = Observer(latitude=latitude, longitude=longitude, elevation=0)

    def height(at: dt.datetime) -> float:
        return sun.elevation(observer, at, with_refraction=False) - MARGIN_DEG

    noon = _noon(observer, dt.datetime.combine(day, dt.time(12), zone).astimezone(dt.UTC))
    rises = [_crossing(height, noon - HALF_DAY, noon, above) for above in (TWILIGHT_DEG, SUNRISE_DEG)]
    sets = [_crossing(height, noon + HALF_DAY, noon, above) for above in (SUNRISE_DEG, TWILIGHT_DEG)]
    return Light(*rises, *sets)


def _noon(observer: Observer, clock_noon: dt.datetime) -> dt.datetime:
    """The sun's highest place nearest to noon by the clock."""
    days = (clock_noon.date() + n * ONE_DAY for n in (-1, 0, 1))
    return min((sun.noon(observer, date=day) for day in days), key=lambda at: abs(at - clock_noon))


def _crossing(
    height: Callable[[dt.datetime], float], midnight: dt.datetime, noon: dt.datetime, above: float
) -> dt.datetime | None:
    """When the sun passes a height (degrees) between midnight and noon, in either order; None if it does not."""
    dark, bright = midnight, noon
    if not height(dark) < above < height(bright):
        return None
    while abs(bright - dark) > CLOSE:
        middle = dark + (bright - dark) / 2
        if height(middle) < above:
            dark = middle
        else:
            bright = middle
    return bright
