"""The shape of a beat's day as it is answered. Every name here is a name on the wire.

Instants are UTC, lengths metres, speeds metres a second, temperatures degrees Celsius, ages whole
minutes. None is "not known", and beside it stands why.
"""

import datetime as dt
from dataclasses import dataclass

from beats.season import Ruling
from beats.water.advice import Suggestion
from beats.water.casting import Blows, Family, Side
from beats.water.fish_care import Care
from beats.water.limits import Grade
from beats.water.limits import Ruling as Limit
from beats.water.moon import Range
from beats.water.practice import Clarity
from beats.water.quality import Unconfirmed
from beats.water.tide import Window
from beats.water.tide_table import Water
from beats.water.trend import Band
from beats.water.wading import Caution, Trust
from beats.water.wind import Strength


@dataclass(frozen=True)
class AskedFor:
    wader: str
    wading_grade: int | None
    alone: bool
    new_here: bool
    hand: Side


@dataclass(frozen=True)
class LightToday:
    """`off_water_by_at` is the beat's policy: `margin_minutes` before last light."""

    first_light_at: dt.datetime | None
    sunrise_at: dt.datetime | None
    sunset_at: dt.datetime | None
    last_light_at: dt.datetime | None
    off_water_by_at: dt.datetime | None
    margin_minutes: int
    words: str


@dataclass(frozen=True)
class LevelToday:
    """`trust` says what the level is worth; pools are worked out from a fresh one, or from `assumed_m` while
    the newest is unconfirmed. `rising`: an onset of a rise stands. `level_m` is None for a reading that is taken
    for a fault.
    """

    gauge: str
    level_m: float | None
    at: dt.datetime | None
    age_minutes: int | None
    stale_after_minutes: int
    stale: bool
    trusted: bool
    trust: Trust
    unconfirmed: Unconfirmed | None
    assumed_m: float | None
    flat_for_hours: int | None
    band: Band | None
    typical_low_m: float | None
    typical_high_m: float | None
    rise_m_per_h: float | None
    rising: bool | None
    rise_limit_m_per_h: float | None
    attribution: str | None
    words: str


@dataclass(frozen=True)
class WaterToday:
    temperature_c: float | None
    temperature_age_minutes: int | None
    temperature_by: str
    clarity: Clarity | None
    clarity_age_minutes: int | None
    clarity_by: str


@dataclass(frozen=True)
class WindToday:
    from_deg: float | None
    mps: float | None
    force: int | None
    force_name: str
    thunder: bool | None
    age_minutes: int | None
    noted_by: str
    words: str


@dataclass(frozen=True)
class TideToday:
    """`height_m` by cosine; `rough` where the rise or fall is not of five to seven hours."""

    height_m: float | None
    height_by_twelfths_m: float | None
    rising: bool | None
    rough: bool | None
    range: Range
    next_springs_at: dt.datetime
    next_neaps_at: dt.datetime
    lag_days: float
    waters: tuple[Water, ...]
    words: str
    cautions: tuple[str, ...]


@dataclass(frozen=True)
class FishToday:
    care: Care
    water_c: float | None
    threshold_c: float
    source: str
    sentence: str
    drought: bool
    age_minutes: int | None
    coolest_at: dt.datetime | None
    coolest_c: float | None
    coolest_sentence: str


@dataclass(frozen=True)
class FlowToday:
    """`how` it was found; where it was not, `why_not`."""

    depth_m: float | None
    velocity_mps: float | None
    how: str
    why_not: str


@dataclass(frozen=True)
class LevelWindow:
    """Where today's level stands in the pool's fishable window: within, below, above or not known."""

    standing: str
    low_m: float | None
    high_m: float | None
    sentence: str


@dataclass(frozen=True)
class WadingToday:
    """`grade` is what to show; `water` that of depth and speed alone, at the place that `where` names."""

    cautions: tuple[Caution, ...]
    grade: Grade
    water: Grade | None
    where: str
    depth_m: float | None
    velocity_mps: float | None
    rulings: tuple[Limit, ...]


@dataclass(frozen=True)
class CastingToday:
    cautions: tuple[str, ...]
    blows: Blows
    downstream_mps: float
    outward_mps: float
    onto: Side | None
    shoulder: Side | None
    own: bool
    family: Family
    casts: tuple[str, ...]
    strength: Strength


@dataclass(frozen=True)
class CutOffToday:
    """When the tide stands at or above `above_m` on this day, and of which hours the table says nothing."""

    above_m: float
    windows: tuple[Window, ...]
    unknown: tuple[Window, ...]
    sentence: str


@dataclass(frozen=True)
class PoolToday:
    id: int
    name: str
    order: int
    bank: Side
    wading_grade: int
    boat: bool
    ghillie: bool
    closed: str
    wading: WadingToday
    flow: FlowToday
    window: LevelWindow
    cut_off: CutOffToday | None
    casting: CastingToday | None
    casting_why_not: str
    tackle: tuple[Suggestion, ...]
    tackle_why_not: str
    lies: tuple[Suggestion, ...]


@dataclass(frozen=True)
class Conditions:
    """What is known of a beat on a day, cautions first. It never says that anything is safe."""

    beat: int
    day: dt.date
    told_at: dt.datetime
    asked_for: AskedFor
    cautions: tuple[Caution, ...]
    summary: str
    law: Ruling
    light: LightToday
    level: LevelToday | None
    water: WaterToday
    wind: WindToday
    tide: TideToday | None
    fish: FishToday
    pools: tuple[PoolToday, ...]
