"""When it gets light and dark: sunrise, sunset and civil twilight.

Sunrise and sunset: the sun's centre 50 arcminutes below a flat horizon (34' refraction and 16'
radius). Civil twilight: 6 degrees below. Banks, hills and trees bring dark earlier than any of it.
Computed by the astral library.
"""

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from astral import Observer, sun

from beats.shared.phrases import say

DARKER_THAN_TOLD = say("Hills, trees and cloud bring dark earlier than these times.")


ONE_DAY = dt.timedelta(days=1)


@dataclass(frozen=True)
class Light:
    """Four instants (UTC) of one day, from its dawn to its dusk; None where the sun does not do that."""

    first_light_at: dt.datetime | None
    sunrise_at: dt.datetime | None
    sunset_at: dt.datetime | None
    last_light_at: dt.datetime | None


def light(day: dt.date, *, latitude: float, longitude: float, zone: ZoneInfo) -> Light:
    """Light on a local date at a place (degrees north and east).

    In a northern midsummer the dusk of a day falls after midnight, and its dawn may fall before:
    the dusk given is the one after this day's sunset, the dawn the one before its sunrise.
    Near the poles some events do not happen: those are None, never an error.
    """
    observer = Observer(latitude=latitude, longitude=longitude, elevation=0)

    def instant(event: Callable[..., dt.datetime], on: dt.date) -> dt.datetime | None:
        try:
            return event(observer, date=on, tzinfo=zone).astimezone(dt.UTC)
        except ValueError:  # astral's word for "the sun does not reach that height on this day"
            return None

    sunrise, sunset = instant(sun.sunrise, day), instant(sun.sunset, day)
    if sunrise and sunset and sunset < sunrise:
        sunset = instant(sun.sunset, day + ONE_DAY)
    dawn, dusk = instant(sun.dawn, day), instant(sun.dusk, day)
    if dawn and sunrise and dawn > sunrise:
        dawn = instant(sun.dawn, day - ONE_DAY)
    if dusk and sunset and dusk < sunset:
        dusk = instant(sun.dusk, day + ONE_DAY)
    return Light(dawn, sunrise, sunset, dusk)
