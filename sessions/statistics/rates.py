"""Catch per rod-day, shares and averages, each with what chance alone may do to it."""

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from statistics import fmean

from beats.shared.phrases import say
from sessions.statistics.poisson import limits

FEW_FISH, FEW_DAYS = 5, 20
Z_95 = 1.959963984540054
FEW = say("Few fish or few days: read nothing into it.")


@dataclass(frozen=True)
class Rate:
    """Fish per rod-day as a ratio of totals (not a mean of daily ratios), with exact 95 % limits.

    The limits know chance alone. Runs and floods make catches bunch, so the truth is wider.
    """

    fish: int
    rod_days: int | None
    rate: float | None
    low: float | None
    high: float | None
    note: str


def rate(fish: int, rod_days: int) -> Rate:
    if rod_days <= 0:
        return Rate(fish, rod_days, None, None, None, say("No rod-days are known, so there is no rate."))
    low, high = limits(fish)
    note = FEW if fish < FEW_FISH or rod_days < FEW_DAYS else ""
    return Rate(fish, rod_days, fish / rod_days, low / rod_days, high / rod_days, note)


@dataclass(frozen=True)
class Share:
    """A part of a whole with Wilson's 95 % limits (E. B. Wilson, JASA 22, 1927)."""

    part: int
    whole: int
    share: float | None
    low: float | None
    high: float | None


def share(part: int, whole: int) -> Share:
    if not whole:
        return Share(part, whole, None, None, None)
    p, z2 = part / whole, Z_95**2
    middle = (p + z2 / (2 * whole)) / (1 + z2 / whole)
    half = Z_95 / (1 + z2 / whole) * math.sqrt(p * (1 - p) / whole + z2 / (4 * whole**2))
    return Share(part, whole, p, max(middle - half, 0.0), min(middle + half, 1.0))


@dataclass(frozen=True)
class Average:
    """The mean catch of the seasons there is a book of; a season without one is missing, not nought."""

    years: tuple[int, ...]
    missing: tuple[int, ...]
    mean: float | None
    lowest: int | None
    highest: int | None


def average(catch: Mapping[int, int], years: Iterable[int]) -> Average:
    """Of those `years` that are in `catch`."""
    years = tuple(years)
    there = tuple(year for year in years if year in catch)
    missing = tuple(year for year in years if year not in catch)
    numbers = [catch[year] for year in there]
    if not numbers:
        return Average((), missing, None, None, None)
    return Average(there, missing, fmean(numbers), min(numbers), max(numbers))


@dataclass(frozen=True)
class Expected:
    """What past seasons show for such days, in fish per rod-day; `words` say how little that is."""

    seasons: int
    fish: int
    rod_days: int
    rate: float | None
    low: float | None
    high: float | None
    spread: float
    words: str


NOT_A_PROMISE = "This is what past books show. It is not a promise of fish."


def expected(past: Iterable[tuple[int, int]]) -> Expected:
    """From (fish, rod-days) of each past season for like days.

    The exact limits of the total are widened by the square root of how much more the seasons differ
    than chance alone would have them differ (never narrowed).
    """
    rows = [(fish, days) for fish, days in past if days > 0]
    fish, days = sum(row[0] for row in rows), sum(row[1] for row in rows)
    if not rows:
        return Expected(0, fish, days, None, None, None, 1.0, f"Nothing is known of such days. {NOT_A_PROMISE}")
    middle, spread = fish / days, _spread(rows, fish / days)
    low, high = (end / days for end in limits(fish))
    low, high = max(middle - (middle - low) * math.sqrt(spread), 0.0), middle + (high - middle) * math.sqrt(spread)
    few = f" {FEW}" if fish < FEW_FISH or days < FEW_DAYS else ""
    words = f"{fish} fish in {days} rod-days of {len(rows)} seasons.{few} {NOT_A_PROMISE}"
    return Expected(len(rows), fish, days, middle, low, high, spread, words)


def _spread(rows: list[tuple[int, int]], middle: float) -> float:
    """Pearson's chi-square over its degrees of freedom, 1 at least."""
    if len(rows) < 2 or not middle:
        return 1.0
    square = sum((fish - middle * days) ** 2 / (middle * days) for fish, days in rows)
    return max(square / (len(rows) - 1), 1.0)
