"""What a day's facts come to before anybody is told: the gauge's state and trust, what still holds, the dark.

Shared by the conditions, the picture of a pool and the warnings.
"""

import datetime as dt
from dataclasses import dataclass, replace
from functools import cached_property

from beats.shared import words
from beats.shared.phrases import joined, say
from beats.water import section, trend
from beats.water import tide as tides
from beats.water.facts import ANYBODY, Facts, Who
from beats.water.noted import Standing, standing
from beats.water.pool_today import Day
from beats.water.practice import Clarity
from beats.water.quality import Unconfirmed
from beats.water.wading import Setting, Trust

MINUTE = dt.timedelta(minutes=1)
ONE_DAY = dt.timedelta(days=1)
HEIGHT_NOT_KNOWN = say("The height of the river is not known: look at it before you step in.")
BOTTOM_SEEN = {Clarity.CLEAR: True, Clarity.COLOURED: False}
"""Of peat-stained water nobody can say from afar."""


IS_RISING = say("RISING: come out of the water.")
WAS_RISING = say("It was RISING when last read: stay out of the water.")
RISING_OR_MISREAD = say("Unconfirmed: rising or misread. Stay out until the next reading.")
MAY_BE_STUCK = say("The gauge has not moved for a long time and may be stuck: look at the river itself.")


def level_words(
    gauge: str,
    level_m: float | None,
    age: int | None,
    *,
    stale: bool,
    trusted: bool,
    unconfirmed: Unconfirmed | None = None,
    assumed_m: float | None = None,
    rising: bool | None = None,
) -> str:
    """The level in a sentence, with its age (minutes), whether it rises, and what is wrong with it.

    A level that is not trusted is not shown as one; of an unconfirmed level stands which to assume (m).
    """
    if level_m is None or age is None:
        return say("{gauge}: no reading yet. Look at the river itself.", gauge=gauge)
    if not trusted and unconfirmed is None:
        fault = _not_trusted(gauge, age)
        return joined([fault, WAS_RISING]) if rising else fault
    told = [say("{gauge}: {level_m:.2f} m, read {age} ago.", gauge=gauge, level_m=level_m, age=words.minutes(age))]
    if rising:
        told.append(WAS_RISING if stale else IS_RISING)
    if unconfirmed is Unconfirmed.RISE_STEP:
        told.append(RISING_OR_MISREAD)
    elif unconfirmed is Unconfirmed.STUCK:
        told.append(MAY_BE_STUCK)
    elif not trusted and assumed_m is not None:
        told.append(say("Not confirmed yet: assume {assumed_m:.2f} m.", assumed_m=assumed_m))
    elif not trusted:
        told.append(say("Not confirmed yet: look at the river itself."))
    if stale:
        told.append(say("This is old: look at the river itself."))
    return joined(told)


def _not_trusted(gauge: str, age: int) -> str:
    return say(
        "{gauge}: the newest reading, {age} ago, is not trusted: the gauge is at fault, or a flood wave has come. "
        "Stay out until somebody has looked at the river.",
        gauge=gauge,
        age=words.minutes(age),
    )


@dataclass(frozen=True)
class Reckoning:
    """What the facts come to before anybody is told: shared by the conditions, the section and the warnings."""

    facts: Facts
    who: Who = ANYBODY

    @cached_property
    def state(self) -> trend.State | None:
        """The gauge at `now`; None without one, without a reading, or on another day."""
        gauge, now = self.facts.gauge, self.facts.now
        if gauge is None or not self.facts.is_today:
            return None
        return trend.state(
            self.facts.readings,
            now=now,
            typical_m=gauge.typical_m,
            habits=gauge.habits,
            flat_run=gauge.flat_run,
        )

    @cached_property
    def trust(self) -> Trust:
        state = self.state
        if state is None:
            return Trust.UNKNOWN
        if state.stale:
            return Trust.STALE if state.trusted or state.unconfirmed else Trust.DISTRUSTED
        if state.unconfirmed is Unconfirmed.STUCK:
            return Trust.STUCK
        if not state.trusted:
            known = state.unconfirmed and not state.faulty and state.assumed_m is not None
            return Trust.UNCONFIRMED if known else Trust.DISTRUSTED
        return Trust.FRESH

    @property
    def level_m(self) -> float | None:
        """The level to work with, in metres: the higher one while the newest is unconfirmed."""
        if self.state is None:
            return None
        return self.state.assumed_m if self.trust is Trust.UNCONFIRMED else self.state.level_m

    @cached_property
    def seen(self) -> Standing:
        noted = self.facts.noted if self.facts.is_today else ()
        gauge = self.facts.temperatures if self.facts.is_today else ()
        return standing(noted, now=self.facts.now, gauge=gauge)

    @property
    def water_c(self) -> float | None:
        return self.seen.water.water_c if self.seen.water else None

    @property
    def thunder(self) -> bool:
        return bool(self.seen.thunder and self.seen.thunder.thunder)

    @cached_property
    def setting(self) -> Setting:
        """The wader and the day; each pool adds its own grade."""
        clarity = self.seen.clarity.clarity if self.seen.clarity else None
        return Setting(
            who=self.who.wader,
            alone=self.who.alone,
            new_here=self.who.new_here,
            bottom_seen=BOTTOM_SEEN.get(clarity) if clarity else None,
            water_c=self.water_c,
            rise_m_per_h=self.state.rise_m_per_h if self.state else None,
            thresholds=self.facts.beat.thresholds,
            flat=bool(self.state and self.state.flat),
            rising=self.state.rising if self.state else None,
            rise_unconfirmed=bool(self.state and self.state.unconfirmed is Unconfirmed.RISE_STEP),
            own_grade=None if self.who.grade is None else int(self.who.grade),
        )

    @cached_property
    def day(self) -> Day:
        """What all pools share."""
        facts, seen = self.facts, self.seen
        start, end = (dt.datetime.combine(facts.day + n * ONE_DAY, dt.time(), facts.beat.zone) for n in (0, 1))
        return Day(
            day=facts.day,
            now=facts.now,
            start=start,
            end=end,
            who=self.who,
            settings={grade: replace(self.setting, pool_grade=int(grade)) for grade in section.Wader},
            trust=self.trust,
            level_m=self.level_m,
            assumed_m=self.state.assumed_m if self.state else None,
            wind=seen.wind,
            thunder=self.thunder,
            water_c=self.water_c,
            clarity=seen.clarity.clarity if seen.clarity else facts.beat.clarity,
            tidal=facts.beat.tidal,
            table=facts.tides,
            stretch=tides.stretch(facts.tides, start=start, end=end) if facts.tides else None,
        )

    @cached_property
    def off_water_by(self) -> dt.datetime | None:
        """The beat's policy: so long before last light. None where the sun gives no last light."""
        last = self.facts.light.last_light_at
        return None if last is None else last - self.facts.beat.dark_margin
