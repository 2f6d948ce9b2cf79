"""How deep and how fast a pool is at today's level, from what was measured there at another level.

Two ways. The simple rule: the depth moves with the gauge (stage shift), and the mean speed goes with
depth to the power 2/3, as Manning's formula V = R^(2/3) S^(1/2) / n says of a wide channel whose slope
and roughness stay the same (the hydraulic radius R is then nearly the depth). Or the owner's own table,
read between its rows and never beyond them: outside the range measured nothing is computed, as for a
rating curve (Deltares FEWS documentation, "Rating curves").

Both are means over the pool. Neither knows the hole, the boulder or the tongue of fast water.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from beats.water.figures import DEPTH_M, LEVEL_M, VELOCITY_MPS, BadFigure, figure

MANNING = 2 / 3
FASTEST_MPS = VELOCITY_MPS[1]
DEEPEST_M = DEPTH_M[1]


@dataclass(frozen=True)
class Measured:
    """What a pool is like at one level of the gauge: metres, metres, metres a second."""

    level_m: float
    depth_m: float
    velocity_mps: float

    def __post_init__(self) -> None:
        figure(self.level_m, "level", "m", LEVEL_M)
        figure(self.depth_m, "depth", "m", DEPTH_M)
        figure(self.velocity_mps, "speed of the water", "m/s", VELOCITY_MPS)


@dataclass(frozen=True)
class Factors:
    """How a pool departs from the plain rule.

    `depth_per_level`: metres of depth gained per metre on the gauge; below 1 where the pool is wider
    than the river at the gauge, above 1 where it is narrower. `velocity_exponent`: the power of the
    depth ratio; 2/3 is Manning's, 0 keeps the speed. `velocity_factor`: times the answer, to match
    what was measured with a float.
    """

    depth_per_level: float = 1.0
    velocity_exponent: float = MANNING
    velocity_factor: float = 1.0

    def __post_init__(self) -> None:
        figure(self.depth_per_level, "depth per metre of level", "", (0.05, 5))
        figure(self.velocity_exponent, "power of the depth", "", (0, 2))
        figure(self.velocity_factor, "factor on the speed", "", (0.1, 5))


PLAIN = Factors()


@dataclass(frozen=True)
class Flow:
    """Depth (m) and mean speed (m/s) of a pool, and how they were found."""

    depth_m: float
    velocity_mps: float
    how: str

    def __post_init__(self) -> None:
        figure(self.depth_m, "depth", "m", DEPTH_M)
        figure(self.velocity_mps, "speed of the water", "m/s", VELOCITY_MPS)


@dataclass(frozen=True)
class NotKnown:
    """No depth and speed can be told, and why."""

    why: str


def by_rule(level_m: float, reference: Measured, factors: Factors = PLAIN) -> Flow | NotKnown:
    """Depth and speed at a level (m on the gauge) by the simple rule.

    depth = reference depth + depth_per_level x (level - reference level);
    speed = reference speed x velocity_factor x (depth / reference depth) ^ velocity_exponent.
    NotKnown where that leaves no water, or more than a pool can have. Raises BadFigure.
    """
    level_m = figure(level_m, "level", "m", LEVEL_M)
    depth = reference.depth_m + factors.depth_per_level * (level_m - reference.level_m)
    if reference.depth_m == 0 or depth <= 0:
        return NotKnown(f"At {level_m:.2f} m the rule leaves no water in this pool: look at the pool itself.")
    scale = factors.velocity_factor * (depth / reference.depth_m) ** factors.velocity_exponent
    velocity = reference.velocity_mps * scale
    if depth > DEEPEST_M or velocity > FASTEST_MPS:
        return NotKnown(f"{level_m:.2f} m is too far from the level this pool was measured at. Stay out.")
    return Flow(depth, velocity, f"by rule from {reference.level_m:.2f} m on the gauge")


def by_table(level_m: float, rows: Sequence[Measured]) -> Flow | NotKnown:
    """Depth and speed at a level (m on the gauge) by the owner's own table, straight lines between its rows.

    The rows may come in any order. NotKnown outside them: a table says nothing of levels it does not
    hold. Raises BadFigure for fewer than two rows, a level twice, or a depth that falls as the level rises.
    """
    level_m = figure(level_m, "level", "m", LEVEL_M)
    rows = in_order(rows)
    low, high = rows[0].level_m, rows[-1].level_m
    if not low <= level_m <= high:
        return NotKnown(
            f"{level_m:.2f} m is outside the pool's own table ({low:.2f} to {high:.2f} m): look at the pool."
        )
    lower, upper = next((a, b) for a, b in pairwise(rows) if level_m <= b.level_m)
    share = (level_m - lower.level_m) / (upper.level_m - lower.level_m)
    depth, velocity = (
        (1 - share) * getattr(lower, name) + share * getattr(upper, name) for name in ("depth_m", "velocity_mps")
    )
    return Flow(depth, velocity, "by the pool's own table")


def in_order(rows: Sequence[Measured]) -> Sequence[Measured]:
    """The rows of a pool's table by level. Raises BadFigure as `by_table` does."""
    if len(rows) < 2:
        raise BadFigure("A pool's table needs at least two levels. Add a row, or leave the table out.")
    rows = sorted(rows, key=lambda row: row.level_m)
    for lower, upper in pairwise(rows):
        if lower.level_m == upper.level_m:
            raise BadFigure(f"The pool's table holds the level {lower.level_m:g} m twice. Keep one of the rows.")
        if lower.depth_m > upper.depth_m:
            raise BadFigure(
                f"In the pool's table the depth falls from {lower.depth_m:g} to {upper.depth_m:g} m while the "
                f"level rises from {lower.level_m:g} to {upper.level_m:g} m. Correct one of the two rows."
            )
    return rows
