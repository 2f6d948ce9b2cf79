"""Which fish cannot be, and which are so unlikely that somebody should look again.

A wall stops what cannot be; a doubt is told and the fish is written all the same. The bounds of a
single fish are our own, common practice without a source; they lie well outside the mean weights
of published rows (see `MEAN_WEIGHTS_KG`).
"""

from decimal import Decimal

from sessions.weights import condition

CM_IN_INCH = Decimal("2.54")
IMPOSSIBLE_K = (Decimal("0.25"), Decimal(4))
ROUNDING = 1e-9
"""By so much a factor that a database worked out in binary may be off."""
Ends = tuple[Decimal | None, Decimal | None]
ODD_K = (Decimal("0.6"), Decimal("1.6"))
ODD_WEIGHTS_KG = {
    "msw": (Decimal("1.5"), Decimal(20)),
    "1sw": (
        Decimal("0.7"),
        Decimal("5.5"),
    ),  # "up to 12 lb by season's end": Ayrshire Rivers Trust, 9 October 2011
    "sea_trout": (Decimal("0.2"), Decimal(7)),
    "finnock": (Decimal("0.05"), Decimal("0.8")),
    "farmed_msw": (Decimal(1), Decimal(20)),
    "farmed_1sw": (Decimal("0.7"), Decimal(7)),
}
ODD_LENGTHS_CM = {
    "msw": (Decimal(50), Decimal(130)),
    "1sw": (Decimal(40), Decimal(80)),
    "sea_trout": (Decimal(25), Decimal(95)),
    "finnock": (Decimal(15), Decimal(45)),
    "farmed_msw": (Decimal(45), Decimal(130)),
    "farmed_1sw": (Decimal(40), Decimal(85)),
}
NAMES = {
    "msw": "salmon", "1sw": "grilse", "sea_trout": "sea trout", "finnock": "finnock",
    "farmed_msw": "farmed salmon", "farmed_1sw": "farmed grilse", "kelt": "kelt", "non_native": "non-native fish",
}  # fmt: skip
GRILSE_FROM_MONTH = 5
"""Grilse of 2 to 3 lb are met from May (chester-le-street-angling-club.co.uk, "What is a grilse")."""

MEAN_WEIGHTS_KG = {"msw": (2.79, 6.75), "1sw": (1.51, 3.42), "sea_trout": (0.49, 2.41)}
"""1st and 99th percentile of the mean weight of 20 fish or more, over the published net rows of 1952 to
2022 (Marine Directorate, "reported catch by district and method"). Worked out from that file; nets, not
rods, and not the limits the officials use, which were not found."""


def impossible(weight_kg: Decimal | None, length_cm: Decimal | None) -> str | None:
    """Why no fish has both these sizes; None when one might."""
    if weight_kg is None or length_cm is None:
        return None
    factor = condition(weight_kg, length_cm)
    if IMPOSSIBLE_K[0] <= factor <= IMPOSSIBLE_K[1]:
        return None
    inches = condition(weight_kg, length_cm * CM_IN_INCH)
    hint = " Is the length in inches?" if ODD_K[0] <= inches <= ODD_K[1] else ""
    return f"No fish of {length_cm} cm weighs {weight_kg} kg.{hint} Give centimetres and kilograms."


def doubts(kind: str, *, month: int, weight_kg: Decimal | None, length_cm: Decimal | None) -> list[str]:
    """What is unlikely about a fish, a sentence each; empty for an ordinary one."""
    name, told = NAMES[kind], []
    if kind in {"1sw", "farmed_1sw"} and month < GRILSE_FROM_MONTH:
        told.append(f"A {name} this early in the year is most unlikely. Look again: a small salmon, or a kelt?")
    if weight_kg is not None and _outside(weight_kg, ODD_WEIGHTS_KG.get(kind)):
        told.append(
            f"{weight_kg} kg is an unlikely weight for a {name}. Look again at the kind and at the weight."
        )
    if length_cm is not None and _outside(length_cm, ODD_LENGTHS_CM.get(kind)):
        told.append(f"{length_cm} cm is an unlikely length for a {name}.{_perhaps_inches(kind, length_cm)}")
    if weight_kg is not None and length_cm is not None and _outside(condition(weight_kg, length_cm), ODD_K):
        told.append(f"{weight_kg} kg is unlikely for {length_cm} cm. Look again at both.")
    return told


def may_hold_doubts(
    kind: str, *, month: int, weights_kg: Ends, lengths_cm: Ends, factors: tuple[float | None, float | None]
) -> bool:
    """Whether any fish of a kind and month may be doubtful, by the least and the greatest weight, length and
    condition factor of them all. Never False where `doubts` has something to say of one of them."""
    if kind in {"1sw", "farmed_1sw"} and month < GRILSE_FROM_MONTH:
        return True
    ends = [(size, ODD_WEIGHTS_KG) for size in weights_kg] + [(size, ODD_LENGTHS_CM) for size in lengths_cm]
    if any(size is not None and _outside(size, bands.get(kind)) for size, bands in ends):
        return True
    low, high = (float(factor) for factor in ODD_K)
    return any(factor is not None and not low + ROUNDING <= factor <= high - ROUNDING for factor in factors)


def _perhaps_inches(kind: str, length_cm: Decimal) -> str:
    as_inches = length_cm * CM_IN_INCH
    if _outside(as_inches, ODD_LENGTHS_CM[kind]):
        return " Look again."
    return f" Was it measured in inches? {length_cm} in are {as_inches:.1f} cm."


def _outside(value: Decimal, bounds: tuple[Decimal, Decimal] | None) -> bool:
    return bounds is not None and not bounds[0] <= value <= bounds[1]
