"""New and full moon, and the springs and neaps that follow them.

A phase is the instant the moon's ecliptic longitude is 0, 90, 180 or 270 degrees ahead of the sun's (the
almanacs' definition; the instant of least angle can be a quarter of an hour off). Positions by the astral
library, good to about five minutes here; its own `moon.phase` is a coarse scale by whole degrees and
days, so it is not used.

Springs come some days after new and full moon, neaps as long after the quarters: on average two days in
British waters, three at London Bridge, one at Dublin, none to four worldwide (UK Hydrographic Office,
EasyTide questions and answers). Weather can do more to a tide than any of this.
"""

import datetime as dt
import math
from dataclasses import dataclass
from enum import StrEnum

from astral.moon import moon_position
from astral.sun import sun_apparent_long

from beats.water.figures import figure, instant

EPOCH = dt.datetime(2000, 1, 1, 12, tzinfo=dt.UTC)
ONE_DAY = dt.timedelta(days=1)
CENTURY_DAYS = 36525
OBLIQUITY = math.radians(23.4393)
DEGREES_A_DAY = 12.19
"""The moon gains a turn on the sun in 29.53 days."""
CLOSE_DEG = 0.005
"""Half a minute."""
LAG_DAYS = 2.0
NEAR_DAYS = 1.5
"""Springs and neaps are a few days, not an hour: this long either side (common practice, no source)."""


class Range(StrEnum):
    """How large the tides are: largest at springs, then taking off to neaps, then making again."""

    SPRINGS = "springs"
    TAKING_OFF = "taking off"
    NEAPS = "neaps"
    MAKING = "making"


@dataclass(frozen=True)
class Tides:
    """The tides about an instant: what they are, and the springs and neaps that are next (UTC)."""

    range: Range
    next_springs_at: dt.datetime
    next_neaps_at: dt.datetime


def elongation_deg(at: dt.datetime) -> float:
    """How far the moon is ahead of the sun along the ecliptic, 0 to 360 degrees, at an instant."""
    days = (instant(at, "time of the moon") - EPOCH) / ONE_DAY
    moon = moon_position(days)
    along = math.sin(moon.right_ascension) * math.cos(OBLIQUITY) + math.tan(moon.declination) * math.sin(OBLIQUITY)
    longitude = math.degrees(math.atan2(along, math.cos(moon.right_ascension)))
    return float((longitude - sun_apparent_long(days / CENTURY_DAYS)) % 360)


def tides(at: dt.datetime, *, lag_days: float = LAG_DAYS) -> Tides:
    """Springs or neaps at an instant, for a port whose springs come `lag_days` (0 to 4) after the moon."""
    lag = figure(lag_days, "lag of the springs", "days", (0, 4)) * ONE_DAY
    at = instant(at, "time of the tide")
    angle = elongation_deg(at - lag)
    quarter = math.floor(angle / 90)
    last, coming, after = (
        _at(n * 90, at - lag + (n * 90 - angle) / DEGREES_A_DAY * ONE_DAY) + lag
        for n in (quarter, quarter + 1, quarter + 2)
    )
    making = quarter % 2 == 1  # past a quarter of the moon, so springs are next
    near = NEAR_DAYS * ONE_DAY
    if coming - at <= near:
        kind = Range.SPRINGS if making else Range.NEAPS
    elif at - last <= near:
        kind = Range.NEAPS if making else Range.SPRINGS
    else:
        kind = Range.MAKING if making else Range.TAKING_OFF
    return Tides(kind, *((coming, after) if making else (after, coming)))


def _at(target_deg: float, near: dt.datetime) -> dt.datetime:
    """The instant nearest `near` at which the elongation is `target_deg`, by Newton's method."""
    while True:
        short = (target_deg - elongation_deg(near) + 180) % 360 - 180
        if abs(short) < CLOSE_DEG:
            return near
        near += short / DEGREES_A_DAY * ONE_DAY
