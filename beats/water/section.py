"""A pool cut across, in numbers and words: water, bed, the tip's way down, how deep a wader goes."""

from dataclasses import dataclass

from beats.water.advice import measured
from beats.water.casting import Side
from beats.water.sinking import DEEPEST_M, WIDEST_M, Sinking
from beats.water.wading_depths import STANDS_IN, WadingGrade

POINTS = 40
BED_IS_DRAWN = "The shape of the bed is drawn, not measured."
CANNOT_SEE = (
    "The wading line is a height on a leg. It knows nothing of current, holes or footing; the ghillie does. "
    "If in doubt, stay out."
)


Wader = WadingGrade


@dataclass(frozen=True)
class Section:
    """What the picture shows. Metres; `notes` are lines to stand below it, such as the level's age.

    `sinking` is the tip's, `holding_m` how far down the fly is wanted. Raises NotAMeasure.
    """

    name: str
    bank: Side
    width_m: float
    depth_m: float
    tip: str
    sinking: Sinking
    holding_m: float
    wader: WadingGrade
    notes: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        measured("width_m", self.width_m, 0.5, WIDEST_M)
        measured("depth_m", self.depth_m, 0.05, DEEPEST_M)
        measured("holding_m", self.holding_m, 0, DEEPEST_M)

    def bed_m(self, out_m: float) -> float:
        """Depth so far out from the angler's bank, on a bed that is steep at the sides and flat between."""
        return self.depth_m * (1 - abs(2 * out_m / self.width_m - 1) ** 4)

    def path(self) -> list[tuple[float, float]]:
        """Where the tip is, in metres out and down, from the cast to the end of the swing; never under the bed."""
        times = [self.sinking.timing.whole_s * n / POINTS for n in range(POINTS + 1)]
        outs = [min(max(self.sinking.timing.out_m(at), 0.1 * self.width_m), 0.9 * self.width_m) for at in times]
        return [
            (out, min(self.sinking.depth_after_m(at), self.bed_m(out)))
            for at, out in zip(times, outs, strict=True)
        ]

    @property
    def touches(self) -> bool:
        """Whether the tip reckons down to the bed at its deepest."""
        return self.sinking.depth_m >= self.depth_m

    @property
    def sentences(self) -> tuple[str, ...]:
        """The picture in words: for those who hear it, and below it for those who see it."""
        words, stands = STANDS_IN[self.wader]
        down = min(self.sinking.depth_m, self.depth_m)
        return (
            f"You stand on the {self.bank} bank, looking downstream.",
            f"Water {self.depth_m:.2f} m deep, {self.width_m:g} m wide. {BED_IS_DRAWN}",
            f"Dashed line: {self.tip}, reckoned to sink to {down:.2f} m"
            + (" and to touch the bed" if self.touches else "")
            + f"; the fly is wanted {self.holding_m:.2f} m down.",
            f"Dotted line: {words.lower()} of a small adult, {stands:.2f} m."
            if stands
            else "This pool is fished from the bank: no wading.",
            CANNOT_SEE,
            *self.notes,
        )
