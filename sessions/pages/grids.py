"""A day's turns, read by pool and by rod. Pure."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

from sessions.models import Turn


@dataclass
class Row:
    """One pool or one rod, and what each part of the day brings it, in the order of the parts."""

    name: str
    cells: list[tuple[str, str, bool]] = field(default_factory=list)
    """The part, what it brings, and whether it must not be fished."""


def by_pool(turns: Iterable[Turn]) -> list[Row]:
    """Down the river: who fishes each pool; pools nobody fishes are left out."""
    rows: dict[int, Row] = {}
    for turn in sorted(turns, key=lambda turn: (turn.pool.order, turn.pool_id, turn.part.starts, turn.rod)):
        rows.setdefault(turn.pool_id, Row(turn.pool.name)).cells.append(
            (turn.part.name, who(turn), _forbidden(turn))
        )
    return list(rows.values())


def by_rod(turns: Iterable[Turn]) -> list[Row]:
    """Where each rod fishes, part by part."""
    rows: dict[int, Row] = {}
    for turn in sorted(turns, key=lambda turn: (turn.rod, turn.part.starts)):
        rows.setdefault(turn.rod, Row(who(turn))).cells.append((turn.part.name, turn.pool.name, _forbidden(turn)))
    return list(rows.values())


def days_of(turns: Iterable[Turn]) -> list[tuple[dt.date, list[Row]]]:
    """Each day of a week by rod."""
    days: dict[dt.date, list[Turn]] = {}
    for turn in turns:
        days.setdefault(turn.day, []).append(turn)
    return [(day, by_rod(rows)) for day, rows in sorted(days.items())]


def dated(moves: Iterable[dict[str, Any]]) -> list[dict[str, Any]]:
    """Moves as a certificate keeps them, their days as dates."""
    return [move | {"day": dt.date.fromisoformat(move["day"])} for move in moves]


def _forbidden(turn: Turn) -> bool:
    """As `add_conditions` found it."""
    return turn.conditions is not None and turn.conditions.do_not_fish


def who(turn: Turn) -> str:
    """The rod and its angler; two who share a rod are both named."""
    names = " / ".join(guest.name for guest in (turn.guest, turn.sharer) if guest)
    return f"{turn.rod} · {names}" if names else f"{turn.rod}"
