"""A return as plain data: what is signed, its hash, and how one differs from another."""

import hashlib
import json
from collections.abc import Iterable, Mapping
from decimal import Decimal, InvalidOperation
from typing import Any

from sessions.monthly import Cell, Month, totals

FIGURES = ("number", "weight_kg", "unweighed")


def snapshot(rows: Iterable[Month], *, fishery: str, district: str, season: int, state: str) -> dict[str, Any]:
    """The table as JSON can hold it; weights are text, so that no digit is lost, and null is not known."""
    rows = list(rows)
    rod_days, sums = totals(rows)
    return {
        "fishery": fishery,
        "district": district,
        "season": season,
        "state": state,
        "months": [
            {
                "month": row.month,
                "name": row.name,
                "record": row.record,
                "rod_days": row.rod_days,
                "catch": _cells(row.cells) if row.recorded else None,
            }
            for row in rows
        ],
        "rod_days": rod_days,
        "totals": _cells(sums) if any(row.recorded for row in rows) else None,
    }


def months_of(made: Mapping[str, Any]) -> list[Month]:
    """The rows of a snapshot again."""
    return [_month(row) for row in made["months"]]


def _month(row: Mapping[str, Any]) -> Month:
    made = Month(row["month"], row["rod_days"], record=row.get("record", ""))
    if row["catch"] is not None:
        made.cells = {fate: _of(kinds) for fate, kinds in row["catch"].items()}
    return made


def content_hash(made: Mapping[str, Any]) -> str:
    """SHA-256 of the snapshot, keys in order and nothing between them."""
    text = json.dumps(made, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    return hashlib.sha256(text.encode()).hexdigest()


def differences(before: Mapping[str, Any], after: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Every figure that is not the same: month, what, before and after; None for what is not known.

    `what` is "rod days", "record", or a class, a fate and a figure, such as "msw released number".
    """
    old, new = _flat(before), _flat(after)
    return [
        {"month": month, "what": what, "before": old.get((month, what)), "after": new.get((month, what))}
        for month, what in sorted(old.keys() | new.keys())
        if not _same(old.get((month, what)), new.get((month, what)))
    ]


def _same(before: str | None, after: str | None) -> bool:
    """Whether "4.1" and "4.10": figures by value; words and what is not known are compared as they are."""
    try:
        return before is not None and after is not None and Decimal(before) == Decimal(after)
    except InvalidOperation:
        return before == after


def adds_up(made: Mapping[str, Any]) -> bool:
    """Whether the months of a snapshot add up to its totals."""
    rod_days, sums = totals(months_of(made))
    return bool(rod_days == made["rod_days"] and made["totals"] in (None, _cells(sums)))


def _flat(made: Mapping[str, Any]) -> dict[tuple[int, str], str]:
    """The figures that are known."""
    found: dict[tuple[int, str], Any] = {}
    for row in made["months"]:
        found |= {(row["month"], "rod days"): row["rod_days"], (row["month"], "record"): row.get("record")}
        for fate, kinds in (row["catch"] or {}).items():
            for kind, cell in kinds.items():
                found |= {(row["month"], f"{kind} {fate} {name}"): cell[name] for name in FIGURES}
    return {where: str(figure) for where, figure in found.items() if figure is not None}


def _cells(cells: Mapping[str, Mapping[str, Cell]]) -> dict[str, Any]:
    return {
        fate: {
            kind: {"number": cell.number, "weight_kg": _kg(cell.known_kg), "unweighed": cell.unweighed}
            for kind, cell in kinds.items()
        }
        for fate, kinds in cells.items()
    }


def _kg(weight: Decimal | None) -> str | None:
    return None if weight is None else f"{weight:.2f}"


def _of(kinds: Mapping[str, Mapping[str, Any]]) -> dict[str, Cell]:
    return {
        kind: Cell(cell["number"], Decimal(cell["weight_kg"] or 0), cell["unweighed"])
        for kind, cell in kinds.items()
    }
