"""How long a pool takes to fish down, how many rods it holds, and when the next may start.

An angler starts at the neck with a short line, lengthens it cast by cast until it covers the water,
and only then begins to step: cast, let the fly swing round, gather line, two or three steps, again.
The next rod starts once the first is far enough down not to be fished over.

Every default here is common practice, no source; each can be set for a pool. The arithmetic is in
whole casts, so that nobody is early by the rounding of a fraction.
"""

import math
from dataclasses import dataclass

LIMITS: dict[str, tuple[float, float]] = {
    "step_m": (0.1, 20),
    "cycle_s": (5, 600),
    "short_casts": (0, 100),
    "behind_m": (1, 1000),
}
LONGEST_POOL_M = 5000
LONGEST_PART_MINUTES = 1440
HAIR = 1e-9
"""Binary fractions: 2.1 m in steps of 0.7 m are three steps, not four."""


@dataclass(frozen=True)
class Pace:
    """How a pool is fished, in metres and seconds; LIMITS holds the bounds, else ValueError.

    `step_m` between casts (two to three steps of about 0.75 m), `cycle_s` for one cast, swing and
    gathering of line, `short_casts` made at the neck while the line is lengthened, `behind_m` the
    water a second rod leaves to the first.
    """

    step_m: float = 2.0
    cycle_s: float = 75.0
    short_casts: int = 6
    behind_m: float = 40.0

    def __post_init__(self) -> None:
        for name, (low, high) in LIMITS.items():
            if not low <= getattr(self, name) <= high:  # NaN is in no bounds either
                raise ValueError(f"{name} is from {low} to {high}")

    @classmethod
    def of(
        cls,
        *,
        step_m: float | None = None,
        cycle_s: float | None = None,
        short_casts: int | None = None,
        behind_m: float | None = None,
    ) -> "Pace":
        """What is known of a pool; common practice for the rest."""
        return cls(
            COMMON.step_m if step_m is None else step_m,
            COMMON.cycle_s if cycle_s is None else cycle_s,
            COMMON.short_casts if short_casts is None else short_casts,
            COMMON.behind_m if behind_m is None else behind_m,
        )


COMMON = Pace()


def casts_down(length_m: float, pace: Pace = COMMON) -> int:
    """Casts to fish `length_m` metres: the short ones, one at full length from the neck, one after each step."""
    return pace.short_casts + 1 + _steps(_pool(length_m), pace)


def minutes_down(length_m: float, pace: Pace = COMMON) -> float:
    """Minutes to fish a pool down once."""
    return casts_down(length_m, pace) * pace.cycle_s / 60


def minutes_until_next(length_m: float, pace: Pace = COMMON) -> float:
    """Minutes after which the next rod may start at the neck.

    By then the first is `behind_m` down, or out of a pool that is shorter than that.
    """
    return _casts_until_next(length_m, pace) * pace.cycle_s / 60


def down_in_time(length_m: float, part_minutes: float, pace: Pace = COMMON) -> bool:
    """Whether one rod can fish the pool down in a part of the day."""
    return casts_down(length_m, pace) <= _casts_in(part_minutes, pace)


def holds(length_m: float, part_minutes: float, pace: Pace = COMMON) -> int:
    """How many rods can fish a pool down in one part of the day, one behind the other; at least one.

    There must be room (`behind_m` between each and the next) and the last must get down in the time
    that is left. A pool too long for even the first counts as one rod's water: take longer steps
    there, or write it down as two pools.
    """
    room = 1 + math.floor(_pool(length_m) / pace.behind_m + HAIR)
    left = _casts_in(part_minutes, pace) - casts_down(length_m, pace)
    in_time = 1 + left // _casts_until_next(length_m, pace) if left >= 0 else 1
    return min(room, in_time)


def starts(count: int, length_m: float, pace: Pace = COMMON) -> list[float]:
    """Minutes into the part at which each of `count` rods starts at the neck."""
    gap = minutes_until_next(length_m, pace)
    return [n * gap for n in range(count)]


def _casts_until_next(length_m: float, pace: Pace) -> int:
    return min(pace.short_casts + _steps(pace.behind_m, pace), casts_down(length_m, pace))


def _casts_in(part_minutes: float, pace: Pace) -> int:
    if not 0 < part_minutes <= LONGEST_PART_MINUTES:
        raise ValueError(f"a part of the day is above 0 and up to {LONGEST_PART_MINUTES} minutes")
    return math.floor(part_minutes * 60 / pace.cycle_s + HAIR)


def _steps(metres: float, pace: Pace) -> int:
    return math.ceil(metres / pace.step_m - HAIR)


def _pool(length_m: float) -> float:
    if not 0 < length_m <= LONGEST_POOL_M:
        raise ValueError(f"a pool is above 0 and up to {LONGEST_POOL_M} metres long")
    return length_m
