"""Seasons known by monthly totals alone: they count where a season has them instead of fish."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from sessions.models import MonthlyTotal
from sessions.monthly import Fish


@dataclass(frozen=True)
class OldSeason:
    """A season's fish by number alone."""

    number: int
    released: int


def old_months(fishery, season: int) -> list[Fish]:
    """The monthly totals of a season, ready for its table. One query."""
    rows = MonthlyTotal.objects.filter(fishery=fishery, season=season).order_by("month", "id")
    return [
        Fish(
            row.month, row.kind, row.fate, row.number, row.weight_kg or Decimal(0),
            row.number if row.weight_kg is None else 0,
        )
        for row in rows
    ]  # fmt: skip


def old_seasons(fishery, seasons: range, kinds: Iterable[str]) -> dict[int, OldSeason]:
    """The seasons that have monthly totals, and how many fish of those classes they name. One query."""
    rows = MonthlyTotal.objects.filter(fishery=fishery, season__in=seasons)
    found: dict[int, OldSeason] = {}
    for season, kind, fate, number in rows.order_by().values_list("season", "kind", "fate", "number"):
        counted = number if kind in kinds else 0
        before = found.get(season, OldSeason(0, 0))
        found[season] = OldSeason(before.number + counted, before.released + counted * (fate == "released"))
    return found
