"""All that is known of a beat on a day, as plain values: what the day is reckoned from."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field
from zoneinfo import ZoneInfo

from beats.light import Light
from beats.season import Ruling
from beats.water import moon, section
from beats.water.advice import Word
from beats.water.casting import Side
from beats.water.fish_care import ADVISED, Limits, Temperature
from beats.water.gauge_history import NO_RUN, FlatRun
from beats.water.hydraulics import PLAIN, Factors, Measured
from beats.water.lies import Feature
from beats.water.limits import Wader
from beats.water.practice import Clarity
from beats.water.tide_table import TideTable
from beats.water.trend import USUAL, Habits, Reading
from beats.water.wading import Thresholds


@dataclass(frozen=True)
class Who:
    """For whom the day is told. `grade` is what the wader is used to; None is "not said"."""

    wader: Wader = Wader.ADULT
    grade: section.Wader | None = None
    alone: bool = False
    new_here: bool = False
    hand: Side = Side.RIGHT


ANYBODY = Who()
NO_THRESHOLDS = Thresholds()


@dataclass(frozen=True)
class Noted:
    """What a keeper saw at an instant; None is "not looked at"."""

    at: dt.datetime
    by: str = ""
    wind_from_deg: float | None = None
    wind_mps: float | None = None
    thunder: bool | None = None
    clarity: Clarity | None = None
    water_c: float | None = None


@dataclass(frozen=True)
class GaugeFacts:
    """The gauge that speaks for the beat, and what is usual there."""

    name: str
    typical_low_m: float | None = None
    typical_high_m: float | None = None
    habits: Habits = USUAL
    attribution: str | None = None
    flat_run: FlatRun = NO_RUN

    @property
    def typical_m(self) -> tuple[float, float] | None:
        low, high = self.typical_low_m, self.typical_high_m
        return None if low is None or high is None else (low, high)


@dataclass(frozen=True)
class PoolFacts:
    """A pool as its owner wrote it down, where it is fished and where an angler stands.

    `closed` is the reason on this day, empty when it is not.
    """

    id: int
    name: str
    order: int
    bank: Side
    flow_bearing_deg: float
    width_m: float
    depth_m: float
    velocity_mps: float
    wading_grade: section.Wader
    reference_level_m: float | None = None
    factors: Factors = PLAIN
    table: tuple[Measured, ...] = ()
    wading_depth_m: float | None = None
    wading_velocity_mps: float | None = None
    features: tuple[Feature, ...] = ()
    words: Mapping[str, Word] = field(default_factory=dict)
    boat: bool = False
    ghillie: bool = False
    level_min_m: float | None = None
    level_max_m: float | None = None
    cut_off_above_m: float | None = None
    closed: str = ""


@dataclass(frozen=True)
class BeatFacts:
    """A beat's own settings for the water."""

    id: int
    zone: ZoneInfo
    tidal: bool = False
    thresholds: Thresholds = NO_THRESHOLDS
    dark_margin: dt.timedelta = dt.timedelta(minutes=30)
    clarity: Clarity | None = None
    drought: bool = False
    limits: Limits = ADVISED
    tide_lag_days: float = moon.LAG_DAYS
    misplaced: bool = False
    """Whether the fishery's point on file cannot be right; light is then that of the middle of its district."""


@dataclass(frozen=True)
class Facts:
    """One beat, one day, known at `now`. Readings, observations and tides in the order of time."""

    beat: BeatFacts
    day: dt.date
    now: dt.datetime
    law: Ruling
    light: Light
    gauge: GaugeFacts | None = None
    readings: tuple[Reading, ...] = ()
    temperatures: tuple[Temperature, ...] = ()
    noted: tuple[Noted, ...] = ()
    tides: TideTable | None = None
    pools: tuple[PoolFacts, ...] = ()

    @property
    def is_today(self) -> bool:
        return self.now.astimezone(self.beat.zone).date() == self.day
