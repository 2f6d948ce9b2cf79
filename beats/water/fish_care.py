"""Water temperature against the public bodies' advice on releasing salmon, and the coolest time of day.

Below 18 °C a fish handled with care mostly lives; from 18 °C survival falls; at 20 °C stop. So Natural
Resources Wales (briefing on warm weather and low water, quoted by anglers' clubs), nidirect/DAERA (node
16608), and the Wild Salmon Science Advisory Group with Fisheries Management Scotland. In the heat of
2018 Fisheries Management Scotland asked anglers to stop at 18 °C (as quoted in a club's conservation
guidelines). Two figures have been issued, so both are settings. One advice note prints "20 °C (64 °F)":
20 °C is 68 °F.
"""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise
from zoneinfo import ZoneInfo

from beats.shared.phrases import say
from beats.water.figures import WATER_C, BadFigure, figure, instant, reached

STANDING = "Natural Resources Wales briefing; nidirect (DAERA); Wild Salmon Science Advisory Group"
DROUGHT = "Fisheries Management Scotland, drought of 2018"
LARGEST_GAP = dt.timedelta(hours=4)
AROUND_DAWN = say("The coolest water of the day is usually around dawn (common practice).")
"""A Scottish advice note says about 05:00 to 06:00."""


class Care(StrEnum):
    """What a fish needs at this temperature."""

    USUAL = "usual care"
    EXTRA = "extra care"
    STOP = "stop fishing"
    NOT_KNOWN = "not known"


@dataclass(frozen=True)
class Limits:
    """°C from which to take extra care, to stop, and to stop in a drought."""

    care_c: float = 18.0
    stop_c: float = 20.0
    drought_stop_c: float = 18.0

    def __post_init__(self) -> None:
        for value in (self.care_c, self.stop_c, self.drought_stop_c):
            figure(value, "temperature limit", "°C", WATER_C)
        if self.care_c > self.stop_c or self.drought_stop_c > self.stop_c:
            raise BadFigure(
                say("Extra care, and stopping in a drought, begin no later than stopping. Lower them.")
            )


@dataclass(frozen=True)
class Advice:
    """What to do for the fish. `threshold_c` is the limit that decided, or the next one up."""

    care: Care
    water_c: float | None
    threshold_c: float
    source: str
    sentence: str


ADVISED = Limits()


def advice(water_c: float | None, *, drought: bool = False, limits: Limits = ADVISED) -> Advice:
    """The release advice at a water temperature (°C); None is "not known". Raises BadFigure."""
    stop_c, source = (limits.drought_stop_c, DROUGHT) if drought else (limits.stop_c, STANDING)
    first_c = min(limits.care_c, stop_c)
    if water_c is None:
        sentence = say("The water's temperature is not known: take it, and stop at {stop_c:g} °C.", stop_c=stop_c)
        return Advice(Care.NOT_KNOWN, None, stop_c, source, sentence)
    water_c = figure(water_c, "temperature of the water", "°C", WATER_C)
    if reached(water_c, stop_c):
        sentence = say(
            "The water is {water_c:.1f} °C: stop fishing for salmon at {stop_c:g} °C; released fish die.",
            water_c=water_c,
            stop_c=stop_c,
        )
        return Advice(Care.STOP, water_c, stop_c, source, sentence)
    if reached(water_c, limits.care_c):
        sentence = say(
            "The water is {water_c:.1f} °C, above {care_c:g}: fish the cool hours, play a "
            "fish fast, keep it in the water, do not lift it to weigh or photograph; stop at "
            "{stop_c:g} °C.",
            water_c=water_c,
            care_c=limits.care_c,
            stop_c=stop_c,
        )
        return Advice(Care.EXTRA, water_c, limits.care_c, STANDING, sentence)
    sentence = say(
        "The water is {water_c:.1f} °C, under {first_c:g}: the usual care for a released fish.",
        water_c=water_c,
        first_c=first_c,
    )
    return Advice(Care.USUAL, water_c, first_c, source if first_c == stop_c else STANDING, sentence)


@dataclass(frozen=True)
class Temperature:
    """The water's temperature (°C) at an instant."""

    at: dt.datetime
    water_c: float

    def __post_init__(self) -> None:
        object.__setattr__(self, "at", instant(self.at, "time of the temperature"))
        figure(self.water_c, "temperature of the water", "°C", WATER_C)


@dataclass(frozen=True)
class Coolest:
    """When a day's water was coolest: measured, or (at and water_c None) what is usual."""

    at: dt.datetime | None
    water_c: float | None
    sentence: str

    @property
    def measured(self) -> bool:
        return self.at is not None


def coolest(readings: Sequence[Temperature], *, day: dt.date, zone: ZoneInfo) -> Coolest:
    """The coolest time of a local day, from its readings in any order (those of other days are left out).

    Measured only if no stretch of the day, its ends included, is without a reading for more than four
    hours; else what is usual is said. Of equals the first.
    """
    start, end = (
        dt.datetime.combine(day + n * dt.timedelta(days=1), dt.time(), zone).astimezone(dt.UTC) for n in (0, 1)
    )
    of_day = sorted((r for r in readings if start <= r.at < end), key=lambda reading: reading.at)
    marks = [start, *(reading.at for reading in of_day), end]
    if any(b - a > LARGEST_GAP for a, b in pairwise(marks)):
        return Coolest(
            None, None, say("Too few temperatures that day to tell. {around_dawn}", around_dawn=AROUND_DAWN)
        )
    low = min(of_day, key=lambda reading: reading.water_c)
    local = low.at.astimezone(zone)
    return Coolest(
        low.at,
        low.water_c,
        say("The water was coolest at {local:%H:%M}: {water_c:.1f} °C.", local=local, water_c=low.water_c),
    )
