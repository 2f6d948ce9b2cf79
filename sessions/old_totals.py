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


@dataclass(frozen=True)
class OldMonths:
    """A season's monthly totals, ready for its table, and the names of the old books they are from."""

    fish: list[Fish]
    books: tuple[str, ...]


def old_months(fishery, season: int) -> OldMonths:
    """The monthly totals of a season. One query."""
    rows = MonthlyTotal.objects.filter(fishery=fishery, season=season).select_related("old_book")
    rows = list(rows.order_by("month", "id"))
    fish = [
        Fish(
            row.month, row.kind, row.fate, row.number, row.weight_kg or Decimal(0),
            row.number if row.weight_kg is None else 0,
        )
        for row in rows
    ]  # fmt: skip
    return OldMonths(fish, tuple(sorted({row.old_book.name for row in rows})))


def old_seasons(fishery, seasons: range, kinds: Iterable[str]) -> dict[int, OldSeason]:
    """The seasons that have monthly totals, and how many fish of those classes they name. One query."""
    rows = MonthlyTotal.objects.filter(fishery=fishery, season__in=seasons)
    found: dict[int, OldSeason] = {}
    for season, kind, fate, number in rows.order_by().values_list("season", "kind", "fate", "number"):
        counted = number if kind in kinds else 0
        before = found.get(season, OldSeason(0, 0))
        found[season] = OldSeason(before.number + counted, before.released + counted * (fate == "released"))
    return found
