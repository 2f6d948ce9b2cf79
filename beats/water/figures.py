"""Figures from outside: a number inside its bounds, an instant with a zone, or a refusal."""

import datetime as dt
import math

from beats.shared.refusals import Refusal

HAIR = 1e-9
"""Binary fractions: 1.0 x (1.0 + 0.5) + 0.5 has reached 2.0 whatever the last bit says."""

LEVEL_M = (-50.0, 500.0)
"""A level is read on the gauge's own datum, so it may be below nought."""
DEPTH_M = (0.0, 30.0)
VELOCITY_MPS = (0.0, 15.0)
WATER_C = (-1.0, 40.0)
"""68 would be a Fahrenheit reading."""


class BadFigure(Refusal, ValueError):
    """A figure that is no number, or none that the thing can have."""

    code = "bad-figure"
    title = "A figure that cannot be"
    status = 422


def figure(value: object, what: str, unit: str, bounds: tuple[float, float]) -> float:
    """`value` as a float within `bounds` (both allowed); BadFigure for NaN, infinity, text, or outside."""
    low, high = bounds
    number = isinstance(value, int | float) and not isinstance(value, bool)
    if not number or not low <= value <= high:  # type: ignore[operator]  # NaN is in no bounds either
        wanted = f"a number from {low:g} to {high:g} {unit}".rstrip()
        raise BadFigure(f"The {what} is {wanted}; {value!r} is not. Correct it and send it again.")
    return float(value)  # type: ignore[arg-type]


def instant(at: dt.datetime, what: str) -> dt.datetime:
    """`at` in UTC; BadFigure when it says no zone."""
    if at.utcoffset() is None:
        raise BadFigure(f"The {what} ({at}) says no time zone. Write it with one, such as {at.isoformat()}+00:00.")
    return at.astimezone(dt.UTC)


def reached(value: float, threshold: float) -> bool:
    """Whether a value is at or above a threshold; on the edge counts as reached."""
    return value >= threshold or math.isclose(value, threshold, rel_tol=HAIR, abs_tol=HAIR)
