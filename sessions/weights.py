"""What a fish of a length may weigh: a range, never a figure to pass for a weighing.

Fulton's condition factor, K = 100 W / L³ (grams and centimetres): a fresh-run salmon is about 1, a thin
fish below 0.9, a very fat one over 1.2 (ulnits.dk, "The K-factor"; hooked.no). The range here is
K from 0.9 to 1.1. Length alone is a poor measure (Bacon and others 2009), hence a range.
"""

from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

THIN, MIDDLE, FAT = Decimal("0.9"), Decimal("1.0"), Decimal("1.1")
GRAMS_IN_KG = 1000
HUNDREDTH = Decimal("0.01")


@dataclass(frozen=True)
class Estimate:
    """Kilograms: between `low` and `high`, most likely near `middle`."""

    low: Decimal
    middle: Decimal
    high: Decimal

    @property
    def words(self) -> str:
        return f"estimated from its length at {self.low:.1f} to {self.high:.1f} kg; not weighed"


def from_length(length_cm: Decimal) -> Estimate:
    """What a fish of that many centimetres may weigh, to the hundredth of a kilogram."""
    return Estimate(*(_weight(length_cm, factor) for factor in (THIN, MIDDLE, FAT)))


def condition(weight_kg: Decimal, length_cm: Decimal) -> Decimal:
    """Fulton's K of a fish."""
    return 100 * weight_kg * GRAMS_IN_KG / length_cm**3


def _weight(length_cm: Decimal, factor: Decimal) -> Decimal:
    kilograms = factor * length_cm**3 / 100 / GRAMS_IN_KG
    return max(kilograms.quantize(HUNDREDTH, rounding=ROUND_HALF_UP), HUNDREDTH)
