"""Which tip gets the fly down in a pool: the water, a beat's ways, and the physics of the choice."""

from dataclasses import dataclass

from beats.water import practice
from beats.water.advice import NotAMeasure, measured
from beats.water.practice import Clarity, Tip
from beats.water.sinking import (
    COMMON_SWING,
    DEEPEST_M,
    FASTEST_MPS,
    WIDEST_M,
    Sinking,
    Swing,
    hanging_m,
    label_needed_in_s,
    timing,
)


@dataclass(frozen=True)
class Water:
    """A pool as it is now. Metres, m/s, month 1 to 12; degrees Celsius and clarity, where None is not known.

    Raises NotAMeasure for a number no river has, NaN and infinity included.
    """

    depth_m: float
    velocity_mps: float
    width_m: float
    month: int
    temperature_c: float | None = None
    clarity: Clarity | None = Clarity.CLEAR

    def __post_init__(self) -> None:
        measured("depth_m", self.depth_m, 0.05, DEEPEST_M)
        measured("velocity_mps", self.velocity_mps, 0, FASTEST_MPS)
        measured("width_m", self.width_m, 0.5, WIDEST_M)
        if self.temperature_c is not None:
            measured("temperature_c", self.temperature_c, -2, 40)
        if self.month not in range(1, 13):
            raise NotAMeasure("month is 1 to 12. Correct it and ask again.", errors={"month": ["1 to 12"]})

    @property
    def reckoned_c(self) -> float:
        """The temperature, or where it is not known a usual one for the month (ours): 5, in summer 12."""
        if self.temperature_c is not None:
            return self.temperature_c
        return 12.0 if self.month in practice.SUMMER else 5.0

    @property
    def temperature_words(self) -> str:
        if self.temperature_c is None:
            return f"water temperature not known, {self.reckoned_c:g} C taken for the month"
        return f"water at {self.temperature_c:g} C"

    @property
    def cold(self) -> bool:
        return self.reckoned_c < practice.COLD_BELOW_C

    @property
    def cold_spring(self) -> bool:
        return self.cold and self.month in practice.SPRING


@dataclass(frozen=True)
class Ways:
    """How a beat fishes: the swing, the tips it has, and how far down a cold fish lies.

    `holding_share` is the part of the depth at which a fly meets fish that lie near the bed.
    """

    swing: Swing = COMMON_SWING
    holding_share: float = 0.8
    tips: tuple[Tip, ...] = practice.TIPS

    def __post_init__(self) -> None:
        measured("holding_share", self.holding_share, 0.05, 1)
        if not self.tips or list(self.tips) != sorted(self.tips, key=lambda tip: tip.label_in_s):
            raise NotAMeasure("Name at least one tip, and put the slowest first.")


COMMON_WAYS = Ways()


@dataclass(frozen=True)
class Choice:
    """The tip for a pool, with the physics: how deep the fly should be, the rate that needs, what the tip does."""

    tip: Tip
    holding_m: float
    needed_in_s: float
    sinking: Sinking

    @property
    def reaches(self) -> bool:
        return self.tip.label_in_s >= self.needed_in_s * (1 - 1e-9)

    @property
    def hanging_m(self) -> float | None:
        """How deep a tight line hangs at the end of the swing, where a rule number is published."""
        if self.tip.rule is None or self.tip.length_m is None:
            return None
        return hanging_m(self.tip.length_m, self.sinking.timing.velocity_mps, self.tip.rule)


def holding_depth_m(water: Water, ways: Ways = COMMON_WAYS) -> float:
    """How far down the fly should swim, in metres: near the bed in cold water, higher in warm."""
    near_bed = water.depth_m * ways.holding_share
    if water.cold:
        return near_bed
    return min(near_bed, practice.MIDWATER_M) if water.reckoned_c < practice.SURFACE_FROM_C else 0.0


def choose_tip(water: Water, ways: Ways = COMMON_WAYS) -> Choice:
    """The slowest tip that sinks to the holding depth while the line swings, or the fastest there is.

    In cold spring water a deep pool takes the heaviest at once (common practice, no source).
    """
    seconds = timing(width_m=water.width_m, velocity_mps=water.velocity_mps, swing=ways.swing)
    holding = holding_depth_m(water, ways)
    needed = label_needed_in_s(holding, seconds.sinking_s)
    enough = [tip for tip in ways.tips if tip.label_in_s >= needed * (1 - 1e-9)]
    tip = enough[0] if enough and not calls_for_the_heaviest(water) else ways.tips[-1]
    return Choice(tip, holding, needed, Sinking(tip.label_in_s, seconds))


def calls_for_the_heaviest(water: Water) -> bool:
    """Whether it is a deep pool in cold spring water."""
    return water.cold_spring and water.depth_m >= practice.DEEP_POOL_M
