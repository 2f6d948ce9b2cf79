"""A beat's day in one answer: law, light and level, with the cautions that follow."""

import datetime as dt
from dataclasses import dataclass

from beats import queries
from beats.light import DARKER_THAN_TOLD, Light
from beats.models import Beat
from beats.season import Ruling, Status

CANNOT_SEE = (
    "This knows nothing of the bed, of rain upstream or of a sudden rise. Ask the ghillie; if in doubt, stay out."
)
TIDE = "The tide reaches this beat. Know the hour of high water before you wade."


@dataclass(frozen=True)
class Conditions:
    beat: Beat
    day: dt.date
    law: Ruling
    light: Light
    level: queries.Level | None
    cautions: tuple[str, ...]
    summary: str


def conditions(beat: Beat, *, day: dt.date | None, now: dt.datetime) -> Conditions:
    """What is known of a beat on a local day (today when none is given). Three queries."""
    today = queries.local_day(beat.fishery, now)
    day = day or today
    (law,) = queries.rulings(beat.fishery, [day])
    light = queries.light_on(beat.fishery, day)
    level = queries.level_at(beat, now) if day == today else None
    return Conditions(
        beat,
        day,
        law,
        light,
        level,
        _cautions(beat, law, level, is_today=day == today),
        _summary(beat, law, light, level),
    )


def _cautions(beat: Beat, law: Ruling, level: queries.Level | None, *, is_today: bool) -> tuple[str, ...]:
    told = [CANNOT_SEE, DARKER_THAN_TOLD, *law.cautions]
    if is_today and (level is None or level.stale):
        told.insert(0, "The height of the river is not known: look at it before you step in.")
    if law.status is Status.CLOSED:
        told.insert(0, law.sentence)
    if beat.tidal:
        told.append(TIDE)
    return tuple(told)


def _summary(beat: Beat, law: Ruling, light: Light, level: queries.Level | None) -> str:
    """One line for the rota sheet."""
    zone = queries.zone_of(beat.fishery)
    rise, fall = (f"{at.astimezone(zone):%H:%M}" if at else "none" for at in (light.sunrise_at, light.sunset_at))
    words = {Status.OPEN: "open", Status.RELEASE_ONLY: "release only", Status.CLOSED: "closed"}
    height = level.words if level else "Level not known."
    return f"{words[law.status].capitalize()}. Sunrise {rise}, sunset {fall}. {height}"
