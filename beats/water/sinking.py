"""How deep a tip sinks while the line swings round: sink rate x seconds = depth.

The model. A line of length L is cast across and downstream and comes round on an arc to hang straight
below the angler; its end travels the arc at the speed of the water. The line sinks at the tip's rate only
while it is slack: for the share `slack` of the swing, and for as long as mends and steps keep it so.
The model and all defaults are common practice, no source; each can be set.

Labels give the rate of a short piece; lengths of ten feet were found 8 to 17 % slower
(flyfishingresearch.net, "sink rate", page 57): the slower end is used. The same site's depth rule for a
line that hangs tight in the current ("Fly Depth Formula", page 47) is given beside it, because a tight
line rises: what the tip has sunk to at the end of its slack is the deepest it may get.
"""

import math
from dataclasses import dataclass

from beats.water.advice import measured

METRES_PER_INCH = 0.0254
METRES_PER_FOOT = 0.3048
MPS_PER_MPH = 0.44704
LABEL_SHARE = 0.83
DEEPEST_M = 50.0
FASTEST_MPS = 10.0
WIDEST_M = 2000.0


@dataclass(frozen=True)
class Swing:
    """How a pool is fished across: the settings of the model.

    `longest_cast_m` caps the cast; `angle_deg` is the angle of the cast below straight across; `slack` the
    share of the swing in which the line sinks; each of `mends` buys `mend_s` seconds, each of `steps` taken
    downstream after the cast the time the water needs for `step_m`, at most `longest_step_s`; a swing that
    takes longer than `longest_s` is fished by hand, not waited for. Raises NotAMeasure out of bounds.
    """

    longest_cast_m: float = 25.0
    angle_deg: float = 45.0
    slack: float = 0.5
    mends: int = 1
    mend_s: float = 2.0
    steps: int = 0
    step_m: float = 0.75
    longest_step_s: float = 3.0
    longest_s: float = 60.0

    def __post_init__(self) -> None:
        measured("longest_cast_m", self.longest_cast_m, 1, 60)
        measured("angle_deg", self.angle_deg, 0, 80)
        measured("slack", self.slack, 0.05, 1)
        measured("mends", self.mends, 0, 10)
        measured("mend_s", self.mend_s, 0, 30)
        measured("steps", self.steps, 0, 10)
        measured("step_m", self.step_m, 0, 2)
        measured("longest_step_s", self.longest_step_s, 0, 30)
        measured("longest_s", self.longest_s, 5, 300)

    def cast_m(self, width_m: float) -> float:
        """Metres of line that reach the far bank at this angle, or the longest cast if that is less."""
        across = measured("width_m", width_m, 0.5, WIDEST_M) / math.cos(math.radians(self.angle_deg))
        return min(across, self.longest_cast_m)


COMMON_SWING = Swing()


@dataclass(frozen=True)
class Timing:
    """Seconds of one cast: the swing, and how long the line sinks in it."""

    cast_m: float
    angle_deg: float
    velocity_mps: float
    swing_s: float
    slack_s: float
    bought_s: float

    @property
    def sinking_s(self) -> float:
        return self.slack_s + self.bought_s

    @property
    def whole_s(self) -> float:
        """From the cast to the line hanging straight."""
        return self.bought_s + self.swing_s

    def out_m(self, seconds: float) -> float:
        """How far out from the angler, straight across, the end of the line is after some seconds."""
        turned = 1.0 if seconds >= self.whole_s else max(seconds - self.bought_s, 0) / self.swing_s
        return self.cast_m * math.cos(math.radians(self.angle_deg + (90 - self.angle_deg) * turned))

    @property
    def working(self) -> str:
        return (
            f"{self.cast_m:.0f} m of line swings for {self.swing_s:.0f} s in water of {self.velocity_mps:.2g} m/s "
            f"and sinks for {self.slack_s:.1f} s of that and {self.bought_s:.1f} s bought by mends and steps"
        )


def timing(*, width_m: float, velocity_mps: float, swing: Swing = COMMON_SWING) -> Timing:
    """How long the line swings and sinks in a pool `width_m` wide at `velocity_mps`. Raises NotAMeasure."""
    speed = measured("velocity_mps", velocity_mps, 0, FASTEST_MPS)
    cast = swing.cast_m(width_m)
    arc = cast * math.radians(90 - swing.angle_deg)
    swing_s = _seconds(arc, speed, swing.longest_s)
    bought = swing.mends * swing.mend_s + swing.steps * _seconds(swing.step_m, speed, swing.longest_step_s)
    return Timing(cast, swing.angle_deg, speed, swing_s, swing.slack * swing_s, bought)


def _seconds(metres: float, speed_mps: float, most: float) -> float:
    return min(metres / speed_mps, most) if speed_mps > 0 else most


def sunk_m(label_in_s: float, seconds: float) -> float:
    """Metres a tip sinks in some seconds of slack line; `label_in_s` is the rate on its label, inches a second.

    Raises NotAMeasure for a rate outside 0 to 20 in/s or a time outside 0 to 3600 s.
    """
    rate = measured("label_in_s", label_in_s, 0, 20)
    return rate * LABEL_SHARE * METRES_PER_INCH * measured("seconds", seconds, 0, 3600)


def label_needed_in_s(depth_m: float, seconds: float) -> float:
    """The rate on the label, in inches a second, that sinks to `depth_m` in `seconds`: sunk_m() turned round.

    Infinite when there is no time at all. Raises NotAMeasure.
    """
    inches = measured("depth_m", depth_m, 0, DEEPEST_M) / METRES_PER_INCH
    if measured("seconds", seconds, 0, 3600) == 0:
        return math.inf if inches else 0.0
    return inches / seconds / LABEL_SHARE


def hanging_m(tip_m: float, velocity_mps: float, rule: float) -> float:
    """Depth in metres of a small fly on a tip hanging tight straight downstream.

    depth (ft) = 3 x tip (ft) / (speed (mph) x rule number), about 10 % off between 1 and 5 mph; the rule
    number is the feet of that line which put the fly one foot down at 3 mph (flyfishingresearch.net, "Fly
    Depth Formula", page 47; rule numbers, page 40). Slower water than 1 mph is reckoned as 1 mph, faster
    than 5 mph as it is. Raises NotAMeasure.
    """
    mph = max(measured("velocity_mps", velocity_mps, 0, FASTEST_MPS) / MPS_PER_MPH, 1.0)
    feet = 3 * measured("tip_m", tip_m, 0, 10) / METRES_PER_FOOT / (mph * measured("rule", rule, 1, 100))
    return feet * METRES_PER_FOOT


@dataclass(frozen=True)
class Sinking:
    """One tip in one pool: the numbers, and the depth they come to."""

    label_in_s: float
    timing: Timing

    @property
    def depth_m(self) -> float:
        """Metres below the surface at the end of the slack line; the bed may be nearer."""
        return sunk_m(self.label_in_s, self.timing.sinking_s)

    def depth_after_m(self, seconds: float) -> float:
        """Metres below the surface so many seconds after the line came to the water."""
        return sunk_m(self.label_in_s, min(seconds, self.timing.sinking_s))

    @property
    def working(self) -> str:
        """The sum itself, in words: the share for long tips, rate, seconds, depth."""
        return (
            f"{self.timing.working}: {self.label_in_s:g} in/s on the label x {LABEL_SHARE:g} "
            f"x {self.timing.sinking_s:.1f} s = {self.depth_m:.2f} m"
        )
