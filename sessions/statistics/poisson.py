"""Exact limits of a count: F. Garwood, "Fiducial limits for the Poisson distribution", Biometrika 28 (1936).

lower = chi2(alpha/2, 2k) / 2, upper = chi2(1 - alpha/2, 2k + 2) / 2: quantiles of the gamma
distribution of shape k and k + 1. The quantile is found by halving on the regularised incomplete
gamma function; the suite compares both with scipy.
"""

import math
from itertools import count

STEPS = 200
TINY = 1e-15


def limits(fish: float, *, level: float = 0.95) -> tuple[float, float]:
    """Between which means a count of `fish` (0 or more) is not surprising at that level."""
    if not (fish >= 0 and 0 < level < 1):
        raise ValueError("a count is 0 or more, a level between 0 and 1")
    tail = (1 - level) / 2
    lower = gamma_quantile(tail, fish) if fish else 0.0
    return lower, gamma_quantile(1 - tail, fish + 1)


def gamma_quantile(share: float, shape: float) -> float:
    """Below which value that share of a gamma distribution of this shape and scale 1 lies."""
    low, high = 0.0, shape + 1
    while gamma_share(high, shape) < share:
        high *= 2
    for _ in range(STEPS):
        middle = (low + high) / 2
        if gamma_share(middle, shape) < share:
            low = middle
        else:
            high = middle
        if high - low <= TINY * high:
            break
    return (low + high) / 2


def gamma_share(value: float, shape: float) -> float:
    """How much of a gamma distribution lies below `value`: series below the shape, continued fraction above."""
    if value <= 0:
        return 0.0
    front = math.exp(shape * math.log(value) - value - math.lgamma(shape))
    if value < shape + 1:
        return front * _series(value, shape)
    return 1 - front * _fraction(value, shape)


def _series(value: float, shape: float) -> float:
    term = total = 1 / shape
    for step in count(1):
        term *= value / (shape + step)
        total += term
        if term < total * TINY:
            break
    return total


def _fraction(value: float, shape: float) -> float:
    """Lentz's way through the continued fraction of the upper part."""
    b = value + 1 - shape
    c, d = 1e300, 1 / b
    total = d
    for step in count(1):
        a = -step * (step - shape)
        b += 2
        d = 1 / (a * d + b or TINY)
        c = b + a / c or TINY
        total *= c * d
        if abs(c * d - 1) < TINY * 10:
            break
    return total
