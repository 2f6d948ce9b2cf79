"""The strength of the wind: the Beaufort scale, and what each step of it means for a caster.

Lower bounds of forces 1 to 12 in m/s over ten minutes, 10 m above open ground: the World Meteorological
Organization's scale, as printed at http://www.delta-s.org/weer/beaufort.html. Names: the Met Office's
table. A gorge or a belt of trees has its own wind, and gusts are stronger than any mean.
"""

from bisect import bisect_right
from dataclasses import dataclass
from enum import StrEnum

from beats.shared.phrases import say
from beats.water.advice import NotAMeasure, measured

FASTEST_MPS = 120.0
"""Above any gust measured on the ground (113 m/s, from memory)."""

LOWER_BOUNDS_MPS = (0.3, 1.6, 3.4, 5.5, 8.0, 10.8, 13.9, 17.2, 20.8, 24.5, 28.5, 32.7)
NAMES = (
    say("calm"),
    say("light air"),
    say("light breeze"),
    say("gentle breeze"),
    say("moderate breeze"),
    say("fresh breeze"),
    say("strong breeze"),
    say("near gale"),
    say("gale"),
    say("strong gale"),
    say("storm"),
    say("violent storm"),
    say("hurricane"),
)
FELT_MPS = LOWER_BOUNDS_MPS[1]
"""From a light breeze (force 2) on, wind is felt on the face: the scale's own mark for use on land."""


@dataclass(frozen=True)
class Force:
    """A step of the Beaufort scale, 0 to 12, and its name."""

    number: int
    name: str


class Strength(StrEnum):
    """What the wind's strength means for casting a fly."""

    LIGHT = "light"
    FRESH = "fresh"
    STRONG = "strong"
    STOP = "stop"


@dataclass(frozen=True)
class Steps:
    """The Beaufort number from which casting gets hard, and from which it ends. Common practice, no source.

    At force 7 it is hard to walk against the wind (the scale's mark on land): no footing for a wader.
    """

    fresh_from: int = 4
    strong_from: int = 6
    stop_from: int = 7

    def __post_init__(self) -> None:
        if not 1 <= self.fresh_from <= self.strong_from <= self.stop_from <= 12:
            raise NotAMeasure(say("Forces run from 1 to 12, and fresh comes before strong, strong before stop."))


COMMON_STEPS = Steps()


def beaufort(speed_mps: float) -> Force:
    """The force of a mean wind in m/s. Raises NotAMeasure below 0, above FASTEST_MPS, and for NaN."""
    number = bisect_right(LOWER_BOUNDS_MPS, measured("speed_mps", speed_mps, 0, FASTEST_MPS))
    return Force(number, NAMES[number])


def strength_of(force: Force, steps: Steps = COMMON_STEPS) -> Strength:
    """What a force means for casting."""
    if force.number >= steps.stop_from:
        return Strength.STOP
    if force.number >= steps.strong_from:
        return Strength.STRONG
    return Strength.FRESH if force.number >= steps.fresh_from else Strength.LIGHT
